from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.starting import as_name
from rearlog.records.values import LABEL


def test_what_cannot_be_in_a_name_becomes_a_hyphen_but_not_at_its_ends() -> None:
    assert as_name("cold room/Ü 2 (north)") == "cold-room-2-north"
    assert as_name("a_b-2") == "a_b-2"
    assert as_name("µ") == ""
    assert as_name("-" + 70 * "x") == 64 * "x"


@given(st.text())
def test_it_is_one_or_nothing(text: str) -> None:
    found = as_name(text)
    assert found == "" or LABEL.fullmatch(found)
