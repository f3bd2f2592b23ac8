"""Eggs laid and hatched, and with whom one is kept: from the line that is typed to what is refused
and what is in doubt. Day 0 is 2026-03-09 09:00."""

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.in_doubt import in_doubt as in_doubt_of_all
from rearlog.records.cages import Keeping, cages_at, kept, kept_at, with_cages
from rearlog.records.doubts import DoubtKind, all_doubts, doubts_with
from rearlog.records.entries import parse, resolve
from rearlog.records.errors import EntryError
from rearlog.records.fields import Observation
from rearlog.records.incoming import said_already
from rearlog.records.log import CohortLog
from rearlog.records.rules import problems_with
from rearlog.records.sexes import sex_levels
from rearlog.records.wording import line_of
from tests.builders import moment, seen, small_profile, tiny_log

GROWN = "egg L1 L2 pupa adult"
"""Adult on day 4."""


def told(line: str) -> Observation:
    [check] = resolve(parse(line), small_profile(), ["7", "8"], ["7", "8"], moment(5), None)
    return check


def log_with(*looks: Observation, codes: str = "7 8 9") -> CohortLog:
    log = tiny_log(dict.fromkeys(codes.split(), GROWN))
    return log.with_checks(looks)


def test_a_line_tells_them_and_reads_the_same_again() -> None:
    check = told("7 adult sex=f eggs=34 hatched=0 mate=cage-1")
    assert (check.eggs, check.hatched, check.mate) == (34, 0, "cage-1")
    assert line_of(check) == "7 adult sex=f eggs=34 hatched=0 mate=cage-1"
    assert told(line_of(check)) == check
    assert line_of(told("7 same eggs=0")) == "7 same eggs=0"
    assert line_of(told("7 same eggs=1234567".replace("1234567", "123456"))).endswith("=123456")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("7 same eggs=3.5", "“3.5” is not a whole number"),
        ("7 same eggs=3,5", "“3,5” is not a whole number"),
        ("7 same eggs=-3", "“-3” is not a whole number"),
        ("7 same eggs=some", "“some” is not a whole number"),
        ("7 same hatched=", "“” is not a whole number"),
        ("7 same eggs=9999999999", "is not a whole number"),
        ("7 same eggs=٣", "is not a whole number"),
        ("7 same eggs=1 eggs=1", "eggs is given twice"),
        ("7 same mate=", "“” is no code and no name of a cage"),
        ("7 same mate=a/b", "“a/b” is no code and no name of a cage"),
        ("7 same mate=a-b-c", "“a-b-c” is no code and no name of a cage"),
    ],
)
def test_what_is_no_count_and_no_name_is_told(line: str, message: str) -> None:
    with pytest.raises(EntryError) as refused:
        parse(line)
    assert message in refused.value.problems[0].message


@pytest.mark.parametrize(
    ("look", "messages"),
    [
        (seen("7", 5, "adult", eggs=3, hatched=0, sex="f"), []),
        (seen("7", 5, "dead", eggs=3), []),
        (seen("7", 5, "adult", mate="8"), []),
        (seen("7", 5, "pupa", mate="cage-1"), []),
        (seen("7", 5, "pupa", eggs=0), ["eggs of one in pupa"]),
        (seen("7", 5, "L1", hatched=3), ["eggs hatched of one in L1"]),
        (seen("7", 5, "adult", eggs=3, sex="m"), ["eggs of a male"]),
        (seen("7", 5, "adult", eggs=-1), ["eggs -1 is not between 0 and 1,000,000"]),
        (seen("7", 5, "adult", eggs=1_000_001), ["eggs 1000001 is not between 0 and 1,000,000"]),
        (seen("7", 5, "adult", eggs=1_000_000), []),
        (seen("7", 5, "adult", mate="7"), ["it cannot be its own mate"]),
        (seen("7", 5, "adult", mate="a b"), ["this is no code and no name of a cage"]),
    ],
)
def test_what_cannot_be_by_itself_is_refused(look: Observation, messages: list[str]) -> None:
    found = problems_with(log_with(), [look], moment(9))
    assert [each.message for each in found] == messages


def test_letters_of_any_case_are_one_code() -> None:
    log = log_with(codes="A01")
    [problem] = problems_with(log, [seen("A01", 5, "adult", mate="a01")], moment(9))
    assert problem.message == "it cannot be its own mate"


def numbered(log: CohortLog) -> CohortLog:
    looks = [replace(each, number=n) for n, each in enumerate(log.all_observations, 1)]
    return replace(log, all_observations=tuple(looks))


def in_doubt(*looks: Observation) -> list[tuple[DoubtKind, int | None, int | None]]:
    """The doubts in the life of 7, whose looks have the numbers 1 to 4 until it is adult."""
    log = numbered(log_with(*looks, codes="7"))
    return [(each.kind, each.record, each.against) for each in all_doubts(log)]


def same(day: float, **told: object) -> Observation:
    return Observation("7", moment(day), same=True, **told)  # type: ignore[arg-type]


def test_what_another_look_contradicts_is_in_doubt() -> None:
    of_male, young = DoubtKind.EGGS_OF_A_MALE, DoubtKind.EGGS_OF_THE_YOUNG
    assert in_doubt(same(5, eggs=3), same(6, eggs=0, hatched=3)) == []
    assert in_doubt(same(3.5, eggs=3)) == [(young, 5, 3)]
    assert in_doubt(same(0.5, eggs=3)) == [(young, 5, None)]
    assert in_doubt(same(5, sex="m"), same(6, eggs=3)) == [(of_male, 6, 5)]
    assert in_doubt(same(6, sex="m"), same(5, eggs=3)) == [(of_male, 6, 5)]


def test_eggs_of_a_male_are_in_doubt_in_a_cage_too_where_all_are_males() -> None:
    of_male, caged = DoubtKind.EGGS_OF_A_MALE, same(5, mate="cage-1", sex="m")

    def kinds(*others: Observation) -> list[DoubtKind]:
        looks = [replace(each, individual="8") for each in others]
        log = numbered(log_with(caged, same(6, eggs=3), *looks, codes="7 8"))
        found = {each.kind for each in in_doubt_of_all(log, event_history(log))}
        assert found == {each.kind for each in all_doubts(log)}
        return sorted(found)

    assert kinds() == [of_male]
    assert kinds(same(5, mate="CAGE-1")) == []
    assert kinds(same(5, mate="cage-1", sex="f")) == []
    assert kinds(same(5, mate="cage-2")) == [of_male]
    assert kinds(same(5, mate="cage-1"), same(7, sex="m")) == [of_male]
    assert kinds(same(5, mate="cage-1"), seen("8", 5.5, "dead")) == [of_male]
    assert in_doubt(same(5, sex="m"), same(6, sex="f"), same(7, eggs=3)) == [
        (DoubtKind.BOTH_SEXES, 6, 5)
    ]


def test_eggs_of_ones_own_make_a_female_of_one_of_no_noted_sex() -> None:
    assert sex_levels(log_with(same(5, eggs=3))) == ["f", None, None]
    assert sex_levels(log_with(same(5, eggs=0), same(6, hatched=0))) == [None, None, None]
    assert sex_levels(log_with(same(5, eggs=3), same(6, sex="m"))) == ["m", None, None]
    both = (same(5, eggs=3), same(6, sex="m"), same(7, sex="f"))
    assert sex_levels(log_with(*both)) == [None, None, None]
    caged = (same(5, mate="cage-1"), same(6, eggs=3))
    assert sex_levels(log_with(*caged)) == [None, None, None]
    assert sex_levels(log_with(same(5, mate="8"), same(6, eggs=3))) == ["f", None, None]
    assert sex_levels(log_with(replace(caged[0], eggs=3))) == ["f", None, None]  # from before
    assert sex_levels(log_with(*caged, same(7, mate="alone"), same(8, eggs=1)))[0] == "f"


def test_more_cannot_hatch_than_were_laid_by_then() -> None:
    more = DoubtKind.MORE_HATCHED
    assert in_doubt(same(5, eggs=10), same(6, hatched=7), same(7, hatched=4)) == [(more, 7, None)]
    assert in_doubt(same(5, eggs=10), same(6, hatched=7), same(7, hatched=3)) == []
    assert in_doubt(same(5, hatched=1)) == [(more, 5, None)]
    assert in_doubt(same(5, hatched=1), same(6, eggs=1)) == [(more, 5, None)]  # laid later
    assert in_doubt(same(5, eggs=1, hatched=1)) == []
    assert in_doubt(same(4.5, mate="cage-1"), same(5, hatched=9)) == []  # of others in it, perhaps
    in_cage = same(5.5, mate="cage-1")
    assert in_doubt(same(5, hatched=4), in_cage, same(6, hatched=9)) == [(more, 5, None)]
    assert in_doubt(replace(in_cage, hatched=4)) == [(more, 5, None)]  # of the time before
    assert in_doubt(same(4.5, mate="alone"), same(5, hatched=9)) == [(more, 6, None)]


def test_two_sexes_are_in_doubt_however_many_looks_note_one_of_them() -> None:
    both = DoubtKind.BOTH_SEXES
    assert in_doubt(same(5, sex="f"), same(6), same(7, sex="f")) == []
    assert in_doubt(same(5, sex="f"), same(6), same(7, sex="m")) == [(both, 7, 5)]
    twice = in_doubt(same(5, sex="f"), same(6, sex="m"), same(7, sex="m"), same(8, sex="f"))
    assert twice == [(both, 6, 5), (both, 8, 7)]
    [doubt] = doubts_with(log_with(same(5, sex="f")), [same(6, sex="m")])
    assert doubt.message == "sex=m, and it was sex=f at 2026-03-14 09:00"
    assert doubt.remedy.startswith("it was said to be ")


def test_eggs_that_two_tell_of_one_moment_are_in_doubt() -> None:
    first, twice = same(5, eggs=3, by="KT"), DoubtKind.COUNTED_TWICE
    assert in_doubt(first, same(5, eggs=4, by="MB")) == [(twice, 6, 5)]
    assert in_doubt(first, same(5, by="MB", hatched=0)) == []  # each counts what the other left
    assert in_doubt(first, same(5, by="MB")) == []
    assert in_doubt(first, same(5.01, eggs=4, by="MB")) == []
    assert in_doubt(replace(first, hatched=0), same(5, hatched=1, by="MB")) == [(twice, 6, 5)]


def test_eggs_hatch_after_a_death_too() -> None:
    dead = seen("7", 6, "dead", eggs=4)
    assert in_doubt(dead, seen("7", 9, "dead", hatched=3)) == []
    assert in_doubt(dead, seen("7", 9, "dead")) == [(DoubtKind.AFTER_THE_END, 6, 5)]
    assert in_doubt(dead, seen("7", 9, "lost", hatched=3)) == [(DoubtKind.AFTER_THE_END, 6, 5)]
    assert in_doubt(dead, same(9, hatched=3)) == [(DoubtKind.AFTER_THE_END, 6, 5)]


def test_a_mate_is_no_cage() -> None:
    log = log_with(same(4.5, mate="8"))
    [doubt] = doubts_with(log, [same(5, hatched=9)])
    assert doubt.kind is DoubtKind.MORE_HATCHED
    assert doubt.message == "9 eggs hatched, and 0 were laid by then"


def test_none_laid_is_something_that_was_said() -> None:
    log = log_with(same(5))
    assert said_already(log, [same(5)]) != []
    assert said_already(log, [same(5, eggs=0)]) == []  # the record says nothing of eggs


def at(day: float) -> datetime:
    return moment(day)


def test_who_was_kept_with_whom() -> None:
    log = log_with(
        same(5, mate="cage-1"),
        replace(same(5, mate="CAGE-1"), individual="8"),
        same(7, mate="Cage-1"),  # still there
        same(8, mate="8"),
        same(10, mate="alone"),
        replace(same(9, mate="7"), individual="9"),
        replace(seen("8", 11, "dead")),
    )
    assert kept(log) == [
        Keeping("7", "cage-1", True, at(5), at(8)),
        Keeping("7", "8", False, at(8), at(10)),
        Keeping("8", "cage-1", True, at(5), None),
        Keeping("9", "7", False, at(9), None),
    ]
    assert kept_at(log, at(5)) == {}  # what is counted at that look is of the time before
    assert cages_at(log, at(5) + timedelta(minutes=1)) == {"cage-1": ("7", "8")}
    assert cages_at(log, at(8)) == {"cage-1": ("7", "8")}
    assert cages_at(log, at(8.5)) == {"cage-1": ("8",)}
    assert cages_at(log, at(12)) == {}
    assert {code: each.by for code, each in kept_at(log, at(9.5)).items()} == {
        "7": "8",
        "8": "cage-1",
        "9": "7",
    }


def caged(*told: Observation) -> CohortLog:
    """7, 8 and 9 are adult, and from day 5 on in one cage: of 8 and 9 it is known that they are
    females, and of 7 what is `told`."""
    return log_with(
        same(5, mate="cage-1"),
        replace(same(5, mate="cage-1", sex="f"), individual="8"),
        replace(same(5, mate="Cage-1", sex="f"), individual="9"),
        *told,
    )


def round_of(log: CohortLog, line: str, day: float = 7) -> list[str]:
    at = moment(day)
    entries = with_cages(parse(line), log, at)
    checks = resolve(entries, small_profile(), log.by_code, log.alive_at(at), at, None)
    return [line_of(each) for each in checks]


def test_a_cage_stands_for_all_that_live_in_it_and_its_eggs_are_told_once() -> None:
    log = caged()
    assert round_of(log, "cage-1 same eggs=34 hatched=2") == [
        "7 same",
        "8 same eggs=34 hatched=2",
        "9 same",
    ]
    assert round_of(log, 'CAGE-1 same len=3 "moist"') == [
        f'{code} same len=3 "moist"' for code in "789"
    ]
    assert round_of(log, "8 dead; cage-1 same eggs=3") == ["7 same", "8 dead", "9 same eggs=3"]
    assert round_of(log, "cage-1 same eggs=0; rest same") == ["7 same", "8 same eggs=0", "9 same"]
    dead = caged(replace(seen("8", 6, "dead")))
    assert round_of(dead, "cage-1 same eggs=3") == ["7 same", "9 same eggs=3"]


def test_whose_sex_is_not_known_may_lay_and_a_male_does_not() -> None:
    lone = log_with(same(5, mate="cage-1"), replace(same(5, mate="cage-1"), individual="8"))
    assert round_of(lone, "cage-1 same eggs=3") == ["7 same eggs=3", "8 same"]
    male = lone.with_checks([same(6, sex="m")])
    assert round_of(male, "cage-1 same eggs=3") == ["7 same", "8 same eggs=3"]
    males = male.with_checks([replace(same(6, sex="m"), individual="8")])
    with pytest.raises(EntryError, match="only males in cage-1"):
        round_of(males, "cage-1 same eggs=3")
    assert round_of(males, "cage-1 same") == ["7 same", "8 same"]


def test_cages_are_those_of_the_moment_before() -> None:
    log = caged(same(6, mate="cage-2"))
    assert round_of(log, "cage-1 same; cage-2 same eggs=1") == ["7 same eggs=1", "8 same", "9 same"]
    assert round_of(log, "cage-1 dead", 6) == ["7 dead", "8 dead", "9 dead"]
    assert round_of(log, "cage-1,cage-2 dead") == ["7 dead", "8 dead", "9 dead"]


def test_a_list_may_hold_cages_and_codes() -> None:
    log = log_with(same(5, mate="cage-1"), replace(same(5, mate="C1-2"), individual="8"))
    assert round_of(log, "cage-1,9 same eggs=2") == ["7 same eggs=2", "9 same eggs=2"]
    assert round_of(log, "C1-2 same") == ["8 same"]


def test_what_stands_for_individuals_is_no_cage() -> None:
    log = log_with(same(5, mate="7-8"), replace(same(5, mate="9"), individual="8"))
    assert round_of(log, "7-8 same") == ["7 same", "8 same"]
    assert round_of(log, "9 same") == ["9 same"]
    named = log_with(same(5, mate="rest"), replace(same(5, mate="alone"), individual="8"))
    assert round_of(named, "rest same") == ["7 same", "8 same", "9 same"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("7-9 same; cage-1 same", "the line names all in cage-1 by themselves"),
        ("cage-1 same; cage-1 dead", "7 is named twice"),
        ("cage-2 same", "nobody alive is in cage-2"),
        ("A1-x same", "“A1-x” is not a range"),
        ("alone same", "no individual alone"),
    ],
)
def test_what_a_cage_cannot_be_told_is_refused(line: str, message: str) -> None:
    log = caged(seen("9", 6, "adult", mate="alone"), seen("9", 6.5, "adult", mate="cage-1"))
    with pytest.raises(EntryError) as refused:
        round_of(log, line)
    assert message in refused.value.problems[0].message


def test_a_cage_whose_last_one_died_has_nobody() -> None:
    log = log_with(same(5, mate="cage-1"), seen("7", 6, "dead"))
    with pytest.raises(EntryError, match="nobody alive is in cage-1"):
        round_of(log, "cage-1 same")
