"""Titles of one's own."""

import pytest

from rearlog.present.framing import Framing, Readers, own_title
from rearlog.records.errors import UsageError


def test_a_title_is_one_line_of_two_hundred_letters_at_most() -> None:
    assert own_title("  Our\n moths\x07 ") == "Our moths"
    assert own_title("m" * 200) == "m" * 200
    with pytest.raises(UsageError, match="a title has up to 200 letters"):
        own_title("m" * 201)


def test_a_class_is_told_where_nobody_says() -> None:
    assert Framing() == Framing("", "", Readers.CLASS)
