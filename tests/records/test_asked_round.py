"""An asked round as tiny dialogues: what is typed, and what is then known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.asked_round import Round, answer, begin
from rearlog.records.errors import EntryError
from rearlog.records.log import CohortLog
from rearlog.records.wording import in_stage, line_of
from tests.builders import moment, seen, tiny_log

LOG = tiny_log({**{str(code): "egg L1" for code in range(1, 8)}, "8": "egg dead", "9": "pupa"})


def asked(*lines: str, at: float = 2, only: tuple[str, ...] = ()) -> Round:
    """The round after some lines."""
    round_ = begin(LOG, moment(at), "KT", only)
    for line in lines:
        round_ = answer(round_, line).round
    return round_


def said(*lines: str) -> list[str]:
    """The answers after some lines, in the words of the notation."""
    return [line_of(check) for check in asked(*lines).checks]


def test_only_those_are_asked_for_that_live_and_have_no_check_at_that_moment() -> None:
    assert asked().asked == ("1", "2", "3", "4", "5", "6", "7", "9")
    assert asked(at=1).asked == ("9",)  # the others were looked at then
    assert asked(only=("2-3", "9")).asked == ("2", "3", "9")
    assert asked(only=("rest",)).asked == asked(only=("all",)).asked == asked().asked
    with pytest.raises(EntryError, match="8: nobody to check"):
        asked(only=("8",))


def test_what_is_known_before_the_round() -> None:
    assert asked().question("1").stage == "L1"
    assert asked(at=4).days_in_stage("1") == (3, 3)  # first seen as L1 on day 1
    assert asked(at=4).days_in_stage("9") == (4, 4)  # entered as a pupa


def test_days_on_which_nobody_looked_may_be_days_in_the_stage() -> None:
    """Seen as L1 on a Friday, without a change on the Saturday, and as L2 on the Tuesday."""
    weekend = tiny_log({"1": "egg L1 L1 - - L2", "2": "egg L1 L1 L1 L1 L2"})
    round_ = begin(weekend, moment(5.5))
    assert round_.days_in_stage("1") == (0, 3)
    assert in_stage(*round_.days_in_stage("1")) == "0 to 3 days (nobody looked)"
    assert in_stage(*round_.days_in_stage("2")) == "0 days"
    assert begin(weekend, moment(7.5)).days_in_stage("1") == (2, 5)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ([""], ["1 same"]),
        (["", "+", "d"], ["1 same", "2 L2", "3 dead"]),
        (["l"], ["1 lost"]),
        (["r(released)"], ["1 removed(released)"]),
        (["p", "A"], ["1 pupa", "2 adult"]),
        (["l2 head=0.6 len=4"], ["1 L2 len=4 head=0.6"]),
        (['= "pale"'], ['1 same "pale"']),
        (['head=0.4 "pale"'], ['1 same head=0.4 "pale"']),
        (["+ seen sex=f"], ["1 L2 seen sex=f"]),
        (["n", "+"], ["2 L2"]),
        (["3"], ["1 same", "2 same"]),
        (["3 +"], ["1 same", "2 same", "3 L2"]),
        (["3+"], ["1 same", "2 same", "3 L2"]),
        (["3d(mould)"], ["1 same", "2 same", "3 dead(mould)"]),
        (["3+4L3"], ["1 same", "2 same", "3 L2", "4 L3"]),
        (["1-3 +"], ["1 L2", "2 L2", "3 L2"]),
        (["2,4+"], ["1 same", "2 L2", "3 same", "4 L2"]),
        (["1-2 L3; 3 same; 4 pupa"], ["1 L3", "2 L3", "3 same", "4 pupa"]),
        (["2+", "1d"], ["1 dead", "2 L2"]),
        (["+ + -"], ["1 L2"]),
        (["3+", "-", "-"], ["1 same"]),
        (["3+", "1", "d"], ["1 dead", "2 same", "3 L2"]),
    ],
)
def test_what_is_typed_and_what_is_then_known(lines: list[str], expected: list[str]) -> None:
    assert said(*lines) == expected


def test_the_rest_is_everyone_without_an_answer() -> None:
    assert said("2+ 6n .") == [
        "1 same", "2 L2", "3 same", "4 same", "5 same", "7 same", "9 same",
    ]  # fmt: skip
    assert said("9 n", "2", "rest +")[1] == "2 L2"
    assert said("2+", "all same")[1] == "2 same"
    assert asked(".").next is None


def test_the_next_one_is_the_first_without_an_answer() -> None:
    assert asked("5+").next == "6"
    assert asked("5+", "2").next == "2"
    assert asked("5+", "2", "").next == "6"


def test_those_passed_over_are_told() -> None:
    round_ = answer(begin(LOG, moment(2)), "2n").round
    assert answer(round_, "5+").told == ("no change: 3, 4",)
    assert answer(round_, "9").told == ("no change: 3 to 7",)
    assert answer(answer(round_, "6 L2").round, "4").told == ("taken back: 4 same",)


def test_the_moment_and_the_initials_are_those_of_the_round() -> None:
    (check,) = asked("").checks
    assert (check.at, check.by) == (moment(2), "KT")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("L9", "“L9” is no key"),
        ("8", "“8” is no key, no stage and nobody in this round"),
        ("3-1 +", "no key"),
        ("head=big", "not a number"),
        ("head=99 head=1", "twice"),
        ("len=-1", "not above zero"),
        ("wings=3", "not a detail"),
        ('"open', "quotation mark"),
        ("d(open", "is closed"),
        ("L2(why)", "only dead, lost and removed"),
        ("= seen", "same cannot be seen"),
        ("n head=3", "not looked at"),
        ("1-3", "nothing is said of them"),
        ("q +", "put it last"),
        ("-", "the first one"),
        ("x" * 5000, "longer than"),
    ],
)
def test_a_wrong_line_says_why_and_leaves_the_round_as_it_was(line: str, message: str) -> None:
    with pytest.raises(EntryError, match=message):
        answer(asked(), line)


def test_every_mistake_of_a_line_is_told() -> None:
    with pytest.raises(EntryError) as caught:
        answer(asked(), "1-3 L2 len=-1")
    assert len(caught.value.problems) == 3


def test_when_all_have_an_answer_one_must_be_named() -> None:
    with pytest.raises(EntryError, match="everyone has an answer"):
        answer(asked("."), "+")
    assert said(".", "4+")[3] == "4 L2"


def test_the_last_stage_has_no_next_one() -> None:
    log = tiny_log({"1": "adult"})
    with pytest.raises(EntryError, match="adult is the last stage"):
        answer(begin(log, moment(1)), "+")


def test_a_key_that_is_a_code_means_the_individual() -> None:
    log = tiny_log({"p": "egg", "q": "egg", "d": "egg"})
    round_ = begin(log, moment(1))
    assert {"pupa", "quit", "dead"}.isdisjoint(round_.words.keys)
    step = answer(round_, "d")
    assert (step.command, step.round.next) == ("", "d")
    assert [line_of(each) for each in answer(step.round, "dead").round.checks] == [
        "p same", "q same", "d dead",
    ]  # fmt: skip


def test_a_stage_that_is_a_code_means_the_individual() -> None:
    log = tiny_log({"1": "egg", "adult": "egg"})
    (check,) = answer(begin(log, moment(1)), "adult").round.checks
    assert line_of(check) == "1 same"  # it was passed over


def test_a_number_finds_the_code_that_ends_in_it() -> None:
    log = tiny_log({"A01": "egg", "A02": "egg", "B1": "egg", "C10": "egg"})
    round_ = begin(log, moment(1))
    assert answer(round_, "2").round.next == "A02"
    assert [line_of(each) for each in answer(round_, "a01-02 +").round.checks][1] == "A02 L1"
    with pytest.raises(EntryError, match="nobody"):
        answer(round_, "1")  # A01 or B1?


def test_a_check_of_the_past_keeps_to_what_was_known_then_and_since() -> None:
    log = tiny_log({"1": "egg - L1 - L3"})
    assert begin(log, moment(3)).question("1").stage == "L1"
    assert [line_of(each) for each in answer(begin(log, moment(3)), "L2").round.checks] == ["1 L2"]


WORDS = st.sampled_from([*("", "+", "=", "n", "d", "p", "L2", "L3 head=0.5", "3", "5+", "2-4 L2"),
                         *("-", ".", "7n", "q", "zz")])  # fmt: skip


@given(st.lists(WORDS, max_size=12))
def test_whatever_is_typed_the_answers_keep_the_rules(lines: list[str]) -> None:
    round_ = begin(LOG, moment(2))
    for line in lines:
        try:
            round_ = answer(round_, line).round
        except EntryError:
            continue
    assert set(round_.answers) <= set(round_.asked)
    assert all(check.at == moment(2) for check in round_.checks)
    unanswered = [code for code in round_.asked if code not in round_.answers]
    assert round_.next == (unanswered[0] if unanswered else None)


@given(st.text(max_size=60))
def test_any_text_is_taken_or_refused(line: str) -> None:
    round_ = begin(LOG, moment(2))
    try:
        step = answer(round_, line)
    except EntryError:
        return
    assert len(step.round.answers) >= len(round_.answers)


def with_adults() -> CohortLog:
    """1 to 5 are adult on day 1; 1 and 2 are a pair, 3 to 5 in a cage, 4 and 5 known females."""
    log = tiny_log(dict.fromkeys("12345", "pupa adult"))
    told = [
        seen("1", 2, "adult", mate="2", sex="f"),
        *(seen(code, 2, "adult", mate="cage-1") for code in "345"),
        *(seen(code, 2.5, "adult", sex="f") for code in "45"),
    ]
    return log.with_checks(told)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["eggs=3 hatched=0"], ["1 same eggs=3 hatched=0"]),
        (["", "mate=alone"], ["1 same", "2 same mate=alone"]),
        (["a sex=f eggs=3"], ["1 adult sex=f eggs=3"]),
        (["n", "n", "cage-1 eggs=9"], ["3 same", "4 same eggs=9", "5 same"]),
        (["CAGE-1 = hatched=9"], ["1 same", "2 same", "3 same", "4 same hatched=9", "5 same"]),
        (["4d", "cage-1 eggs=9"], ["1 same", "2 same", "3 same", "4 dead", "5 same eggs=9"]),
        (["cage-1d"], ["1 same", "2 same", "3 dead", "4 dead", "5 dead"]),
        (["3-5 eggs=2"], [*("1 same", "2 same"), *(f"{each} same eggs=2" for each in "345")]),
    ],
)
def test_eggs_are_told_of_one_of_several_or_of_a_cage(
    lines: list[str], expected: list[str]
) -> None:
    round_ = begin(with_adults(), moment(3))
    for line in lines:
        round_ = answer(round_, line).round
    assert [line_of(check) for check in round_.checks] == expected


def test_eggs_of_a_cage_of_males_are_nobodys() -> None:
    log = tiny_log({"1": "pupa adult"}).with_checks([seen("1", 2, "adult", mate="c", sex="m")])
    round_ = begin(log, moment(3))
    with pytest.raises(EntryError, match="there are only males in this cage"):
        answer(round_, "c eggs=3")
    assert [line_of(each) for each in answer(round_, "c").round.checks] == []
    assert answer(round_, "c =").round.checks[0].same


def test_eggs_of_what_is_no_adult_are_refused_where_they_are_typed() -> None:
    round_ = begin(with_adults(), moment(3))
    with pytest.raises(EntryError, match="eggs of one in pupa"):
        answer(round_, "p eggs=3")
    with pytest.raises(EntryError, match="it cannot be its own mate"):
        answer(round_, "mate=1")


def test_with_whom_each_one_is_kept() -> None:
    round_ = begin(with_adults(), moment(3))
    assert {code: (each.by, each.cage) for code, each in round_.kept.items()} == {
        "1": ("2", False),
        **dict.fromkeys("345", ("cage-1", True)),
    }
    assert round_.words.cages == ("cage-1",)
