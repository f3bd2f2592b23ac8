import csv
import io

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


@pytest.mark.parametrize("separator", ",;|\t")
@pytest.mark.parametrize("quotes", ["", '"', "'", "''"])
def test_a_formula_behind_a_list_separator_is_disarmed(separator: str, quotes: str) -> None:
    text = f"damp{separator}{quotes}=1+1"
    assert disarmed(text) == f"damp{separator}'{quotes}=1+1"
    assert restored(disarmed(text)) == text


def test_a_list_of_plain_words_stays_as_it_is() -> None:
    assert disarmed("small, pale; 08:40, about -2 °C\n\nsee L1-L3") == (
        "small, pale; 08:40, about -2 °C\n\nsee L1-L3"
    )


@given(
    st.text(st.one_of(st.sampled_from(f"'\",;|a{RISKY}"), st.characters(codec="utf-8"))),
    st.sampled_from(",;|\t"),
)
def test_no_separator_brings_a_formula_to_the_head_of_a_cell(text: str, separator: str) -> None:
    written = io.StringIO(newline="")
    csv.writer(written).writerow(["a", disarmed(text), "b"])
    for line in written.getvalue().replace("\r", "\n").split("\n"):
        # what stands in quotation marks as well as what would, were they no quotation marks
        for cell in [*next(csv.reader([line], delimiter=separator), []), *line.split(separator)]:
            assert not cell.lstrip('"').startswith(tuple("=+-@＝＋－＠"))
