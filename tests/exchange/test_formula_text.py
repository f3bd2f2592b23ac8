import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.formula_text import disarmed, restored

# common practice: a cell that begins with one of these is run by one spreadsheet or another
RISKY = "=+-@\t\r\n＝＋－＠"


@pytest.mark.parametrize("first", RISKY)
def test_a_formula_is_disarmed_and_restored(first: str) -> None:
    text = f"{first}1+1"
    assert disarmed(text) == f"'{text}"
    assert restored(disarmed(text)) == text


@pytest.mark.parametrize("text", ["under the lid", "'tis small", "''", "'", "a=b", ""])
def test_other_text_is_left_alone(text: str) -> None:
    assert disarmed(text) == restored(text) == text


@given(st.text(alphabet=st.one_of(st.sampled_from(f"'{RISKY}"), st.characters())))
def test_every_text_comes_back_and_none_is_left_armed(text: str) -> None:
    assert restored(disarmed(text)) == text
    assert disarmed(text)[:1] not in [*RISKY]
