"""What is in doubt: both records, which of them is taken for the mistake, and what settles it."""

from random import Random

import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.in_doubt import InDoubt, _kept, _lives_of, in_doubt, of_records
from rearlog.analysis.stages.in_question import in_question
from rearlog.records.doubts import all_doubts
from rearlog.records.log import CohortLog
from rearlog.sentences.in_doubt import words
from rearlog.species.catalogue import find
from tests.builders import moment, seen, tiny_log


def numbered(lines: dict[str, str]) -> CohortLog:
    log = tiny_log(lines)
    looks = [replace(each, number=place) for place, each in enumerate(log.all_observations, 1)]
    return replace(log, all_observations=tuple(looks))


def found_in(log: CohortLog) -> tuple[InDoubt, ...]:
    return in_doubt(log, event_history(log))


def test_two_later_looks_make_the_first_one_the_mistake() -> None:
    first, second = found_in(numbered({"1": "egg L1 L2 L1 L1 L2"}))
    assert (first.look.record, first.before.record) == (3, 2)
    assert (second.look.record, second.before.record) == (4, 2)
    for each in (first, second):
        assert (each.look.blame, each.before.blame) == (None, "mistake")
        assert each.before.stages == ("L1", "L1")
    assert words(first) == (
        "1: L1 at 2026-03-12 09:00 (@3) is an earlier stage than L2 at 2026-03-11 09:00 (@2); "
        "taken for the mistake: @2 (counted as L1); "
        "to settle it: rearlog correct tiny 1 L1 --from 2026-03-11 --because TEXT"
    )


def test_where_both_are_as_good_either_may_be_struck() -> None:
    (found,) = found_in(numbered({"1": "egg L2 L1"}))
    assert (found.look.blame, found.before.blame) == ("perhaps", "perhaps")
    assert "either may be the mistake; to settle it: rearlog strike tiny @1 or @2" in words(found)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("L2 L1 L1 L2", "L1 at 2026-03-10 09:00 (@1) is an earlier stage than L2 at "
         "2026-03-09 09:00 (as it entered); taken for the mistake: how it entered; "
         "if it entered so after all: rearlog strike tiny @1 --because TEXT"),
        ("egg dead L1 L2", "L1 at 2026-03-11 09:00 (@2) comes after dead at 2026-03-10 09:00 (@1); "
         "taken for the mistake: @1; to settle it: rearlog strike tiny @1 --because TEXT"),
        ("egg dead dead", "dead at 2026-03-11 09:00 (@2) comes after dead at 2026-03-10 09:00 (@1);"
         " @1 counts; to settle it: rearlog strike tiny @1 or @2 --because TEXT"),
        ("egg L2!", "L2 at 2026-03-10 09:00 (@1) was seen to come, and not the stage between it "
         "and egg at 2026-03-09 09:00 (as it entered); both count; "
         "to settle it: leave out “seen”, or enter the stage before"),
    ],
)  # fmt: skip
def test_what_is_said_of_each_kind(line: str, said: str) -> None:
    assert f"1: {said}" in [words(each) for each in found_in(numbered({"1": line}))]


def test_a_stage_that_there_was_no_time_for_names_both_records() -> None:
    log = numbered({"1": "egg L1"})
    lady = replace(log.cohort, species=find("painted-lady"))
    later = replace(log.all_observations[0], stage="L5", number=2, at=log.all_observations[0].at)
    later = replace(later, at=later.at.replace(day=later.at.day + 1))
    (found,) = found_in(replace(log, cohort=lady, all_observations=(*log.all_observations, later)))
    assert "L5 at 2026-03-11 09:00 (@2) comes sooner after L1 at 2026-03-10 09:00 (@1)" in words(
        found
    )
    assert "both count" in words(found)


def test_only_what_is_about_some_records_is_shown_with_them() -> None:
    found = found_in(numbered({"1": "egg L2 L1", "2": "egg L2 L1"}))
    assert [each.individual for each in of_records(found, {3})] == ["2"]
    assert of_records(found, {None, 5}) == ()


@pytest.mark.parametrize("seed", range(8))
def test_nobody_who_is_in_doubt_is_passed_over(seed: int) -> None:
    """Against a look at every life, one by one."""
    chance = Random(seed)
    said = ["egg", "L1", "L2", "L3", "pupa", "-", "dead", "L1!", "L2!", "pupa!"]
    weights = [2, 6, 6, 2, 2, 3, 1, 1, 1, 1]
    lines = {str(n): " ".join(["egg", *chance.choices(said, weights, k=chance.randrange(7))])
             for n in range(1, 40)}  # fmt: skip
    log = numbered(lines)
    looks = [
        each
        if each.fate or each.witnessed or chance.random() < 0.8
        else replace(each, stage=None, same=True)
        for each in log.all_observations
    ]
    log = replace(log, all_observations=tuple(looks))
    expected = [(each.kind, each.individual, each.record, each.against) for each in all_doubts(log)]
    found = found_in(log)
    assert expected
    assert [
        (each.kind, each.individual, each.look.record, each.before.record) for each in found
    ] == expected


def test_eggs_are_in_doubt_beside_a_sex_a_stage_and_more_hatched() -> None:
    grown = numbered({"1": "egg L1 L2 pupa adult", "2": "egg L1 L2"})
    eggs = replace(grown.all_observations[-1], at=moment(9), stage=None, same=True, eggs=3)
    looks = (
        replace(eggs, individual="1", number=7, sex="m", eggs=None),
        replace(eggs, individual="1", number=8, at=moment(10)),
        replace(eggs, individual="2", number=9, hatched=4),
    )
    log = replace(grown, all_observations=(*grown.all_observations, *looks))
    male, young, more = found_in(log)
    assert (male.look.record, male.before.record) == (8, 7)
    assert words(male) == (
        "1: same at 2026-03-19 09:00 (@8) tells eggs, and same at 2026-03-18 09:00 (@7) that it "
        "is a male; the eggs are not counted; to settle it: rearlog strike tiny @7 or @8 "
        "--because TEXT"
    )
    assert "(@9) tells eggs, and it was no adult by L2 at 2026-03-11 09:00 (@6)" in words(young)
    assert words(more) == (
        "2: same at 2026-03-18 09:00 (@9) tells more eggs hatched than were laid since egg at "
        "2026-03-09 09:00 (as it entered); both count; to settle it: tell the eggs as they are "
        "laid, or look at the counts again"
    )


def test_eggs_that_two_observers_tell_are_taken_twice() -> None:
    log = numbered({"1": "pupa adult"})
    told = replace(log.all_observations[0], at=moment(2), by="KT", eggs=3, number=2)
    both = (told, replace(told, by="MB", eggs=4, number=3))
    (found,) = found_in(replace(log, all_observations=(*log.all_observations, *both)))
    assert "(@3) counts the same eggs as adult at 2026-03-11 09:00 (@2)" in words(found)
    assert words(found).endswith("rearlog strike tiny @2 or @3 --because TEXT")


def test_counts_are_looked_at_in_few_of_many_lives() -> None:
    """Whoever has no counts and no contradiction is not asked about."""
    log = numbered({"1": "egg L1", "2": "egg L1"})
    assert found_in(log) == ()
    laying = replace(log.all_observations[0], eggs=0, stage="adult", number=1)
    assert found_in(replace(log, all_observations=(laying, *log.all_observations[1:]))) == ()


def test_in_question_are_those_whose_looks_contradict_each_other_and_those_that_laid() -> None:
    """2 goes back, 3 passes over L1, 4 is of two sexes; eggs of 5 were counted, if none."""
    log = tiny_log(
        {"1": "egg L1", "2": "L2 L1", "3": "egg L2", "4": "L1 L1", "5": "adult -", "6": "L1 L1"}
    )
    more = (
        *(seen("1", 2, "L1", sex="f"), seen("6", 2, "L1", sex="m"), seen("6", 3, "L1", sex="m")),
        *(seen("4", 2, "L1", sex="f"), seen("4", 3, "L1", sex="m"), seen("5", 2, "adult", eggs=0)),
    )
    log = replace(log, all_observations=(*log.all_observations, *more))
    assert in_question(log, event_history(log)) == {"2", "3", "4", "5"}
    plain = tiny_log({"1": "egg L1", "2": "L2 L1"})
    assert in_question(plain, event_history(plain)) == {"2"}


def test_of_those_that_are_asked_about_alone_records_are_made() -> None:
    log = tiny_log({"1": "egg L1 L2", "2": "egg L2 L1", "3": "egg egg"})
    told = _lives_of(log, {"2", "3"}).all_observations
    assert [each.individual for each in told] == ["2", "2", "3"]


def test_looks_at_those_that_are_kept_with_another_are_asked_for_and_at_no_others() -> None:
    log = tiny_log(dict.fromkeys("1234", "pupa adult"))
    looks = (seen("1", 2, "adult", mate="2"), seen("4", 2, "adult", mate="cage"))
    log = replace(log, all_observations=(*log.all_observations, *looks))
    assert _kept(log) == {"1", "4"}
