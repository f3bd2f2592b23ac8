"""Two copies of one cohort, written to apart, and what uniting them makes of them."""

import shutil
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.records.errors import RecordError, StoreError
from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
    Temperature,
)
from rearlog.store.cohort_file import CohortFile
from rearlog.store.merging import compare
from tests.builders import START, moment, seen
from tests.store.conftest import NOW, add, header, started, states

WHY = Mark(NOW, "wrong cup", "KT")


@pytest.fixture
def copy(room: CohortFile) -> CohortFile:
    """A copy of the room, as it is now."""
    path = room.path.with_name("room (conflicted copy).json")
    shutil.copyfile(room.path, path)
    return CohortFile(path)


def merged(room: CohortFile, copy: CohortFile) -> list[str]:
    before = copy.path.read_bytes()
    room.merge(copy.path, NOW)
    assert copy.path.read_bytes() == before
    return states(room)


def refused(room: CohortFile, copy: CohortFile) -> str:
    before = room.path.read_bytes()
    with pytest.raises(RecordError) as told:
        room.merge(copy.path, NOW)
    assert room.path.read_bytes() == before
    return str(told.value)


def test_what_only_one_has_is_in_both_together(room: CohortFile, copy: CohortFile) -> None:
    add(room, seen("1", 2, "L2"))
    add(copy, seen("2", 2, "L2"), seen("3", 2, "L1"))
    assert merged(room, copy) == ["1 L1", "2 L1", "1 L2", "2 L2", "3 L1"]


def test_equal_copies_bring_nothing_and_write_nothing(room: CohortFile, copy: CohortFile) -> None:
    before = room.path.stat()
    assert merged(room, copy) == ["1 L1", "2 L1"]
    assert room.path.stat().st_ino == before.st_ino


def test_merging_again_brings_nothing_more(room: CohortFile, copy: CohortFile) -> None:
    add(copy, seen("2", 2, "L2"))
    once = merged(room, copy)
    assert merged(room, copy) == once


def test_the_same_entry_made_in_both_is_there_once(room: CohortFile, copy: CohortFile) -> None:
    add(room, seen("3", 2, "L1"), now=moment(3))
    add(copy, seen("2", 2, "L2"), seen("3", 2, "L1"), now=moment(4))
    assert merged(room, copy) == ["1 L1", "2 L1", "3 L1", "2 L2"]


def test_when_a_record_was_written_down_stays_with_it(room: CohortFile, copy: CohortFile) -> None:
    add(copy, seen("3", 2, "L1"), now=moment(4))
    room.merge(copy.path, NOW)
    assert room.read().all_observations[-1].entered == moment(4)


def test_marks_of_striking_out_are_united(room: CohortFile, copy: CohortFile) -> None:
    room.strike([1], [], WHY)
    copy.strike([2], [], replace(WHY, because="dropped"))
    assert merged(room, copy) == []
    assert [each.struck.because for each in room.read().all_observations if each.struck] == [
        "wrong cup", "dropped",
    ]  # fmt: skip


def test_struck_in_both_keeps_our_reason(room: CohortFile, copy: CohortFile) -> None:
    room.strike([1], [], WHY)
    copy.strike([1], [], replace(WHY, because="dropped"))
    assert merged(room, copy) == ["2 L1"]
    assert room.read().all_observations[0].struck == WHY


def test_a_record_that_was_struck_and_entered_again_stands(
    room: CohortFile, copy: CohortFile
) -> None:
    copy.strike([1], [], WHY)
    add(copy, seen("1", 1, "L1"), now=moment(41))  # struck by mistake
    assert merged(room, copy) == ["2 L1", "1 L1"]
    assert merged(copy, room) == ["2 L1", "1 L1"]


def test_a_record_struck_in_the_copy_alone_comes_with_its_mark(
    room: CohortFile, copy: CohortFile
) -> None:
    add(copy, seen("3", 2, "L2"))
    copy.strike([3], [], WHY)
    assert merged(room, copy) == ["1 L1", "2 L1"]
    assert room.read().all_observations[2].struck == WHY


def test_new_individuals_come_with_their_checks(room: CohortFile, copy: CohortFile) -> None:
    copy.add_individuals([Individual("B1", START, "egg", clutch="second")])
    add(copy, seen("B1", 2, "L1"))
    assert merged(room, copy)[-1] == "B1 L1"
    assert room.read().by_code["B1"].clutch == "second"


def test_different_checks_at_one_moment_are_left_to_the_user(
    room: CohortFile, copy: CohortFile
) -> None:
    add(room, seen("1", 2, "L1"), seen("2", 2, "L2"))
    add(copy, seen("1", 2, "L2"), seen("2", 2, "L1"), seen("3", 2, "L1"))
    lines = refused(room, copy).splitlines()
    remedy = "(strike out the wrong one in its own file, then merge again)"
    assert lines == [
        f"1 at 2026-03-11 09:00: @3 says “1 L1”, the other copy “1 L2” {remedy}",
        f"2 at 2026-03-11 09:00: @4 says “2 L2”, the other copy “2 L1” {remedy}",
    ]
    room.strike([3], [], WHY)
    copy.strike([4], [], WHY)
    assert merged(room, copy) == ["1 L1", "2 L1", "2 L2", "1 L2", "3 L1"]


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (("1", 2, "L3"), ("1", 3, "L2")),
        (("1", 2, "dead"), ("1", 3, "L2")),
        (("1", 2, "dead"), ("1", 3, "dead")),
    ],
)
def test_looks_that_contradict_each_other_are_both_kept(
    room: CohortFile, copy: CohortFile, ours: tuple[str, float, str], theirs: tuple[str, float, str]
) -> None:
    add(room, seen(*ours))
    add(copy, seen(*theirs))
    told = [f"1 {look[2]}" for look in (ours, theirs)]
    assert merged(room, copy) == ["1 L1", "2 L1", *told]


def test_the_marks_of_both_are_put_together(room: CohortFile, copy: CohortFile) -> None:
    both = Mark(moment(3), "wrong cup")
    room.strike([1], [], both)
    copy.strike([1], [], both)
    room.strike([2], [], Mark(moment(4), "too early"))
    copy.take_back([1], [], Mark(moment(5), "it was right"))
    copy.strike([2], [], Mark(moment(4.5), "another cup"))
    copy.withdraw(["3"], both)
    assert merged(room, copy) == ["1 L1"]
    marks = [[each.because for each in one.marks] for one in room.read().all_observations]
    assert marks == [["wrong cup", "it was right"], ["too early", "another cup"]]
    assert [each.code for each in room.read().withdrawn] == ["3"]
    before = room.path.read_bytes()
    merged(room, copy)
    assert room.path.read_bytes() == before


def test_one_individual_added_in_two_ways_is_left_to_the_user(
    room: CohortFile, copy: CohortFile
) -> None:
    room.add_individuals([Individual("B1", START, "egg"), Individual("B2", START, "egg")])
    copy.add_individuals([Individual("b1", moment(1), "L1"), Individual("B2", START, "egg")])
    assert refused(room, copy) == "b1: the copies have it enter in different ways"


def test_another_cohort_is_refused(room: CohortFile) -> None:
    other = started(room.path.with_name("other.json"))
    renamed = replace(other.read().cohort, name="other", id="")
    other.path.unlink()
    other.create(renamed, [])
    told = refused(room, other)
    assert told == "other: it is another cohort (only copies of one cohort are merged)"


def test_copies_that_count_days_otherwise_are_refused(room: CohortFile) -> None:
    other = started(room.path.with_name("other.json"))
    moved = replace(other.read().cohort, zone="Europe/London", food="nettles")
    other.path.unlink()
    other.create(moved, [])
    told = refused(room, other)
    assert "room: its zone is another (only copies of one cohort are merged)" in told
    assert "room: its food is another" in told


def test_what_a_copy_is_called_is_no_contradiction(room: CohortFile, copy: CohortFile) -> None:
    room.rename("class-4b")
    room.describe({}, place="window")
    copy.rename("class-4c")
    copy.describe({}, site="Northfield", place="cupboard", latitude=51.5, longitude=-0.25)
    add(copy, seen("2", 2, "L2"))
    brought = room.merge(copy.path, NOW)
    cohort = room.read().cohort
    assert (cohort.name, cohort.place) == ("class-4b", "window")  # what is said here stays
    assert brought.others == {"name": "class-4c", "place": "cupboard"}
    assert (cohort.site, cohort.latitude, cohort.longitude) == ("Northfield", 51.5, -0.25)
    assert states(room)[-1] == "2 L2"
    copy.describe({}, latitude=52.0, longitude=0.0)
    assert room.merge(copy.path, NOW).others["latitude and longitude"] == "52.0, 0.0"
    assert room.read().cohort.latitude == 51.5


def test_a_damaged_copy_is_refused(room: CohortFile, copy: CohortFile) -> None:
    copy.path.write_bytes(copy.path.read_bytes().replace(b'"L1"', b'"L2"'))
    with pytest.raises(StoreError, match="checksum does not fit"):
        room.merge(copy.path, NOW)


DAY = date(2026, 3, 9)


def test_temperatures_are_united(room: CohortFile, copy: CohortFile) -> None:
    both: list[Temperature] = [
        DayExtremes(DAY, 18.0, 24.0),
        Readings(START, (0, 600), (20.0, 20.5)),
    ]
    room.add_temperatures([*both, ConstantTemperature(20.0, DAY)], moment(1))
    copy.add_temperatures([*both, DayExtremes(DAY + timedelta(days=1), 17.0, 23.0)], moment(2))
    copy.strike([], [1], WHY)  # written down in both at different times: ours still stands
    merged(room, copy)
    assert [type(each).__name__ for each in room.read().temperatures] == [
        "DayExtremes", "Readings", "ConstantTemperature", "DayExtremes",
    ]  # fmt: skip


def test_struck_temperatures_are_struck_in_both(room: CohortFile) -> None:
    room.add_temperatures([DayExtremes(DAY, 18.0, 24.0)], moment(1))
    path = room.path.with_name("copy.json")
    shutil.copyfile(room.path, path)
    CohortFile(path).strike([], [1], WHY)
    room.merge(path, NOW)
    assert room.read().temperatures == ()


@pytest.mark.parametrize(
    ("ours", "theirs", "message"),
    [
        (
            DayExtremes(DAY, 18.0, 24.0),
            DayExtremes(DAY, 18.0, 25.0),
            "temperature of 2026-03-09: it says 18 to 25 °C, "
            "but temperature of 2026-03-09 (@T1) says 18 to 24 °C",
        ),
        (
            Readings(START, (0, 600), (20.0, 20.5)),
            Readings(START, (600, 1200), (21.0, 20.5)),
            "readings from 2026-03-09 09:00: it says 21 °C, "
            "but readings from 2026-03-09 09:00 (@T1) says 20.5 °C",
        ),
        (
            ConstantTemperature(20.0, DAY, DAY + timedelta(days=9)),
            ConstantTemperature(25.0, DAY + timedelta(days=9)),
            "constant temperature from 2026-03-18: it says 25 °C, but",
        ),
    ],
)
def test_temperatures_that_contradict_are_left_to_the_user(
    room: CohortFile, copy: CohortFile, ours: DayExtremes, theirs: DayExtremes, message: str
) -> None:
    room.add_temperatures([ours], moment(1))
    copy.add_temperatures([theirs], moment(1))
    assert message in refused(room, copy)


CHECKS = st.lists(
    st.builds(
        lambda code, day, struck, hour: replace(
            seen(code, day, "L1"), entered=moment(day + hour), marks=(WHY,) if struck else ()
        ),
        st.sampled_from("123"), st.integers(1, 5), st.booleans(), st.integers(0, 2),
    ),
    max_size=8,
)  # fmt: skip


def log_of(checks: list[Observation]) -> CohortLog | None:
    """A log with these checks, if they keep the rule of one check a moment."""
    standing = [(each.individual, each.at) for each in checks if each.struck is None]
    if len(set(standing)) < len(standing):
        return None
    individuals = tuple(Individual(code, START, "egg") for code in "123")
    numbered = tuple(replace(each, number=place) for place, each in enumerate(checks, start=1))
    return CohortLog(header(), individuals, numbered)


@given(CHECKS, CHECKS)
def test_no_record_of_either_copy_is_lost(
    ours: list[Observation], theirs: list[Observation]
) -> None:
    mine, other = log_of(ours), log_of(theirs)
    if mine is None or other is None:
        return
    news = compare(mine, other, NOW).observations
    joined = news.joined(mine.all_observations)
    content = {replace(each, number=None, marks=()) for each in joined}
    assert {replace(each, marks=()) for each in ours} <= content
    moments = {(each.individual, each.at) for each in joined if each.struck is None}
    for each in theirs:
        bare = replace(each, marks=())
        # it is there itself, or another that says the same of the same moment
        assert bare in content or (each.individual, each.at) in moments
    for each in (*ours, *theirs):
        if each.struck is not None:
            assert any(
                known.struck is not None
                and replace(known, number=None, marks=()) == replace(each, marks=())
                for known in joined
            )
