"""One cell, on the terminal and on the page."""

from datetime import UTC, date, datetime
from enum import StrEnum

import pytest

from rearlog.present.cells import cell


class Fate(StrEnum):
    LOST = "lost"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "–"),
        (True, "yes"),
        (False, "no"),
        (3.146, "3.15"),  # two decimals, so that a mean of days is right to a quarter of an hour
        (3, "3"),
        (0.0, "0.00"),
        (date(2026, 3, 9), "2026-03-09"),
        (datetime(2026, 3, 9, 8, 40, 59, tzinfo=UTC), "2026-03-09 08:40"),
        (Fate.LOST, "lost"),
        ("L1", "L1"),
    ],
)
def test_a_value_as_people_read_it(value: object, text: str) -> None:
    assert cell(value) == text
