"""The compact notation: right lines beside wrong ones, and lines that nobody would write."""

import contextlib
import time
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.records.entries import expand, parse, resolve
from rearlog.records.errors import EntryError
from rearlog.records.log import Observation
from tests.builders import small_profile

AT = datetime(2026, 3, 12, 9, tzinfo=UTC)
LAST = {"1": "egg", "2": "L1", "3": "L1", "A07": "L2", "A08": "L2"}
ALIVE = ["1", "2", "A07", "A08"]  # 3 has died


def read(line: str) -> list[Observation]:
    return resolve(parse(line), small_profile(), LAST, ALIVE, AT, "KT")


def words(line: str) -> list[str]:
    return [f"{each.individual} {each.fate or each.stage or 'same'}" for each in read(line)]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("2 L2", ["2 L2"]),
        ("  2   L2  ", ["2 L2"]),
        ("2 l2", ["2 L2"]),
        ("a07 L2", ["A07 L2"]),
        ("1,2 L1", ["1 L1", "2 L1"]),
        ("1-3 L1", ["1 L1", "2 L1", "3 L1"]),
        ("1 - 2 , A07 L1", ["1 L1", "2 L1", "A07 L1"]),
        ("A07-A08 L3", ["A07 L3", "A08 L3"]),
        ("A07-08 L3", ["A07 L3", "A08 L3"]),
        ("1 L1; 2 same", ["1 L1", "2 same"]),
        ("1 L1\n2 same\n", ["1 L1", "2 same"]),
        (";; 1 L1 ;;", ["1 L1"]),
        ("2 dead; rest same", ["1 same", "2 dead", "A07 same", "A08 same"]),
        ("all same", ["1 same", "2 same", "A07 same", "A08 same"]),
        ("ALL L2", ["1 L2", "2 L2", "A07 L2", "A08 L2"]),
        ("3 lost", ["3 lost"]),
        ("2 REMOVED(released)", ["2 removed"]),
    ],
)
def test_right_lines(line: str, expected: list[str]) -> None:
    assert words(line) == expected


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        ("2 died", "2 dead"),
        ("2 Died(mould)", "2 dead(mould)"),
        ("2 escaped", "2 lost(escaped)"),
        ("2 released", "2 removed(released)"),
        ("1 hatched", "1 L1"),
        ("A07 pupated seen", "A07 pupa seen"),
        ("A07 emerged sex=f", "A07 adult sex=f"),
        ("2 no change", "2 same"),
        ("2 No Change len=4", "2 same len=4"),
        ("2 =", "2 same"),
        ("2 L 2 head=0.4", "2 L2 head=0.4"),
        ("1 to 3 L1", "1-3 L1"),
        ("A07 TO A08, 2 L2", "A07-A08,2 L2"),
        ("1 – 2 L1", "1-2 L1"),
    ],
)
def test_what_people_type_is_read_as_the_notation(typed: str, canonical: str) -> None:
    assert read(typed) == read(canonical)


def test_a_stage_of_the_profile_comes_before_a_word_for_another() -> None:
    profile = small_profile()
    named = replace(profile.stages[-2], code="emerged")
    odd = replace(profile, stages=(*profile.stages[:-2], named, profile.stages[-1]))
    (found,) = resolve(parse("2 emerged"), odd, LAST, ALIVE, AT, None)
    assert found.stage == "emerged"


def test_no_word_is_understood_that_the_profile_gives_no_one_meaning() -> None:
    """Without an egg nothing hatches; where the first instar may be left out it is not known."""
    stages = small_profile().stages
    for fewer in (stages[1:], (stages[0], replace(stages[1], optional=True), *stages[2:])):
        with pytest.raises(EntryError, match="“hatched” is no stage"):
            resolve(parse("2 hatched"), replace(small_profile(), stages=fewer), LAST, [], AT, None)


@pytest.mark.parametrize(
    ("line", "written"),
    [
        ("1 L1, 2 L2", "1 L1; 2 L2"),
        ("1 L1,2 L2", "1 L1; 2 L2"),
        ("1-2 L1, A07 L3 head=0,6, rest same", "1-2 L1; A07 L3 head=0,6; rest same"),
        ('2 dead(a, b c), A07 L3 "x, 3 y"', '2 dead(a, b c); A07 L3 "x, 3 y"'),
    ],
)
def test_a_comma_for_a_semicolon_is_explained_as_that(line: str, written: str) -> None:
    with pytest.raises(EntryError) as told:
        parse(line)
    (problem,) = told.value.problems
    assert problem.message == "a comma stands where a semicolon belongs"
    assert problem.remedy == f"write: {written}"
    assert len(read(written)) >= 2


def test_a_decimal_comma() -> None:
    (found,) = read("A07 L3 len=12,5 head=0,610")
    assert (found.length_mm, found.head_width_mm) == (12.5, 0.61)


def test_every_detail() -> None:
    (found,) = read('A07 L3 seen len=12.5 head=0.61 mass=34 sex=F "pale; = , (soft)"')
    assert found == Observation(
        "A07", AT, stage="L3", witnessed=True, length_mm=12.5, head_width_mm=0.61, mass_mg=34.0,
        sex="f", by="KT", note="pale; = , (soft)",
    )  # fmt: skip


def test_a_cause_may_have_several_words() -> None:
    (found,) = read("2 dead(fell from the lid)")
    assert (found.fate, found.cause, found.stage) == ("dead", "fell from the lid", None)


@pytest.mark.parametrize(
    ("line", "place", "message"),
    [
        ("", "", "the line is empty"),
        (" ; \n ", "", "the line is empty"),
        ("3", "at character 1", "no state given"),
        ("1 L1;  3  ;2 L1", "at character 8", "no state given"),
        ('3 "note"', "at character 1", "no state given"),
        ("3 L1 fast", "at character 1", "“fast” is not a detail"),
        ("3 L1 len=", "at character 1", "“” is not a number"),
        ("3 L1 len=abc", "at character 1", "“abc” is not a number"),
        ("3 L1 len=1,500", "at character 1", "“1,500” is not a number"),
        ("3 L1 len=nan", "at character 1", "“nan” is not a number"),
        ("3 L1 len=inf", "at character 1", "“inf” is not a number"),
        ("3 L1 len=1e999", "at character 1", "“1e999” is not a number"),
        ("3 L1 len=1 len=2", "at character 1", "len is given twice"),
        ("3 L1 sex=x", "at character 1", "sex “x” is not known"),
        ('3 L1 "a" "b"', "at character 1", "two notes"),
        ('3 L1 "open', "at character 1", "is out of place"),
        ("3 L1(mould)", "at character 1", "a cause stands behind “L1”"),
        ("3 dead (mould)", "at character 1", "is out of place"),
        ("3 dead(mould", "at character 1", "is not closed"),
        ("3 escaped(hole)", "at character 1", "escaped says the cause already"),
        ("3 L1,", "at character 1", "there is a comma in “L1,”"),
        ("3 dead 4", "at character 1", "“4” is not a detail"),
        ("3 L1 len=12,5 fast", "at character 1", "“fast” is not a detail"),
        ("1 to 3", "at character 1", "no state given"),
        ("../3 L1", "at character 1", "no state given"),
        ("\x1b[2J L1", "at character 1", "no state given"),
    ],
)
def test_lines_that_cannot_be_read(line: str, place: str, message: str) -> None:
    with pytest.raises(EntryError) as told:
        parse(line)
    (problem,) = told.value.problems
    assert problem.message.startswith(message) or message in problem.message
    assert problem.place.startswith(place)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("9 L1", "no individual 9"),
        ("1-9 L1", "no individual 4, 5, 6, 7, 8, 9"),
        ("3-1 L1", "runs backwards"),
        ("1-999999999 L1", "is too long"),
        ("1-" + "9" * 5000 + " L1", "is not a range"),
        ("1-100000," * 10_000 + "1 L1", "more codes than a cohort can have"),
        ("A07-B08 L1", "is not a range"),
        ("A-B L1", "is not a range"),
        ("2 L9", "“L9” is no stage or fate"),
        ("2 same seen", "same cannot be seen"),
        ("2 L1; 2 L2", "2 is named twice"),
        ("2,2 L1", "2 is named twice"),
        ("1-3,2 L1", "2 is named twice"),
        ("a07 L1; A07 L2", "A07 is named twice"),
        ("rest same; rest L1", "rest is given twice"),
        ("all same; 2 L1", "all stands beside other parts"),
    ],
)
def test_lines_that_do_not_suit_the_cohort(line: str, message: str) -> None:
    with pytest.raises(EntryError, match=message):
        read(line)


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("2 adlt", "did you mean adult?"),
        ("2 smae", "did you mean same?"),
        ("2 deda", "did you mean dead?"),
        ("2 Remvoed", "did you mean removed?"),
        ("2 L9", "use egg, L1, L2, L3, pupa, adult, same, dead, lost, removed"),
    ],
)
def test_a_slip_of_the_pen_is_asked_about(line: str, remedy: str) -> None:
    with pytest.raises(EntryError) as told:
        read(line)
    (problem,) = told.value.problems
    assert problem.remedy == remedy


def test_every_mistake_of_a_line_is_told() -> None:
    with pytest.raises(EntryError) as told:
        parse("3; 2 L1 fast; 1 L1; 2 L1 len=x")
    assert [each.place.partition(",")[0] for each in told.value.problems] == [
        "at character 1", "at character 4", "at character 21",
    ]  # fmt: skip
    with pytest.raises(EntryError) as told:
        read("9 L1; 2 L9; 1 L1; 1 L2")
    assert len(told.value.problems) == 3


@pytest.mark.parametrize(
    ("who", "codes"),
    [
        ("3", ["3"]),
        ("1-3", ["1", "2", "3"]),
        ("A08-A11", ["A08", "A09", "A10", "A11"]),
        ("A08-11,B2", ["A08", "A09", "A10", "A11", "B2"]),
        ("a1b9-a1b10", ["a1b9", "a1b10"]),
    ],
)
def test_ranges_count_through(who: str, codes: list[str]) -> None:
    assert expand(who) == codes


PIECES = st.lists(
    st.sampled_from(
        ["1", "2", "A07", "all", "rest", "-", ",", " ", ";", "\n", "L1", "L2", "same", "dead",
         "(", ")", "mould", '"', "len=", "head=", "sex=", "1.5", "seen",
         " to ", "no change", "died", "L ", "\t", "é", "\x1b[31m"]
    ),
    max_size=14,
).map("".join)  # fmt: skip


@given(st.text(max_size=60) | PIECES)
def test_any_line_is_read_or_told(line: str) -> None:
    try:
        found = resolve(parse(line), small_profile(), LAST, ALIVE, AT, None)
    except EntryError:
        return
    codes = [each.individual for each in found]
    assert len(set(codes)) == len(codes)
    assert set(codes) <= set(LAST)
    for each in found:
        assert [each.stage is not None, each.fate is not None, each.same].count(True) == 1


@pytest.mark.parametrize(
    "line", ['"' * 100_000, '1 L1 "' * 20_000, "1," * 50_000 + "1 L1", "(" * 100_000, ";" * 100_000,
             "1 " + "L" * 100_000, "1-" * 50_000, " " * 100_000 + "1 L1", "1 L1 " + "1," * 50_000,
             "1 to " * 50_000],
)  # fmt: skip
def test_long_lines_take_no_long_time(line: str) -> None:
    """Reading takes time in proportion to the length; one that went back and forth would hang."""
    begin = time.process_time()
    with contextlib.suppress(EntryError):
        parse(line)
    assert time.process_time() - begin < 5


def test_a_mistake_in_a_long_line_makes_a_short_message() -> None:
    with pytest.raises(EntryError) as told:
        parse("1 L1 (" + "x" * 100_000)
    assert len(str(told.value)) < 300
