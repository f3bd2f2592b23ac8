"""What a log knew at a moment: tiny logs, one rule each."""

from datetime import UTC, date, datetime, timedelta

import pytest
from msgspec.structs import replace

from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
)
from rearlog.species.catalogue import find

START = datetime(2026, 3, 9, 9, tzinfo=UTC)
COHORT = Cohort("room", find("painted-lady"), "UTC", START, START)


def day(number, hour=9):
    return START + timedelta(days=number, hours=hour - 9)


def check(number, stage="egg", entered=None, struck=None):
    marks = (Mark(struck, "a slip"),) if struck else ()
    return Observation("1", day(number), stage, entered=entered, marks=marks)


def log(*observations, temperatures=()):
    return CohortLog(COHORT, (Individual("1", START, "egg"),), observations, tuple(temperatures))


def stages(known):
    return [each.stage for each in known.checks["1"]]


def test_later_checks_are_not_known():
    full = log(check(1), check(2), check(3, "L1"))
    assert stages(full.as_of(day(2))) == ["egg", "egg"]
    assert stages(full.as_of(day(2, 8))) == ["egg"]


def test_what_was_typed_in_later_was_not_known():
    full = log(check(1, entered=day(1)), check(2, "L1", entered=day(4)))
    assert stages(full.as_of(day(3))) == ["egg"]
    assert stages(full.as_of(day(4))) == ["egg", "L1"]


def test_a_later_strike_is_undone():
    full = log(check(1, entered=day(1)), check(2, "L1", entered=day(2), struck=day(5)))
    assert stages(full.as_of(day(4))) == ["egg", "L1"]
    assert stages(full.as_of(day(5))) == ["egg"]


def test_a_mistake_and_its_correction_are_never_both_known():
    wrong = check(2, "L2", entered=day(2), struck=day(5))
    right = check(2, "L1", entered=day(5))
    full = log(wrong, right)
    assert stages(full.as_of(day(4))) == ["L2"]
    assert stages(full.as_of(day(5))) == ["L1"]


def test_a_mistake_that_was_typed_in_later_was_not_known_either():
    full = log(check(1, entered=day(1)), check(2, "L2", entered=day(5), struck=day(6)))
    assert stages(full.as_of(day(4))) == ["egg"]


def test_what_came_in_from_a_file_counts_from_when_it_was_seen():
    imported = [check(number, entered=day(30)) for number in range(1, 6)]
    assert len(stages(log(*imported).as_of(day(3)))) == 3


def test_a_log_begun_later_counts_from_when_things_were_seen():
    """Copied from paper, round by round; what was struck out since was never believed."""
    rounds = [check(number, entered=day(30, 10 + number)) for number in range(1, 6)]
    wrong = check(2.5, "L2", entered=day(30, 20), struck=day(30, 21))
    full = log(*rounds, wrong)
    copied = replace(full, cohort=replace(COHORT, created=day(30)))
    assert stages(copied.as_of(day(3))) == ["egg"] * 3
    assert stages(full.as_of(day(3))) == []


def test_individuals_that_entered_later_are_not_known():
    full = replace(
        log(), individuals=(Individual("1", START, "egg"), Individual("2", day(3), "L1"))
    )
    assert list(full.as_of(day(2)).by_code) == ["1"]


def test_the_extremes_of_a_day_are_known_when_it_is_over():
    full = log(temperatures=[DayExtremes(date(2026, 3, 9 + step), 18, 22) for step in range(4)])
    assert [each.date.day for each in full.as_of(day(2)).temperatures] == [9, 10]


def test_the_day_is_that_of_the_cohorts_zone():
    full = log(temperatures=[DayExtremes(date(2026, 3, 10), 18, 22)])
    in_berlin = replace(full, cohort=replace(COHORT, zone="Europe/Berlin"))
    late = datetime(2026, 3, 10, 23, 30, tzinfo=UTC)  # half past midnight in Berlin
    assert full.as_of(late).temperatures == ()
    assert len(in_berlin.as_of(late).temperatures) == 1


def test_a_kept_temperature_ends_with_the_day():
    kept = ConstantTemperature(22.0, date(2026, 3, 9), entered=day(20))
    planned = replace(kept, celsius=25.0, first=date(2026, 3, 15), last=date(2026, 3, 30))
    known = log(temperatures=[kept, planned]).as_of(day(3)).temperatures
    assert known == (replace(kept, last=date(2026, 3, 12)),)


@pytest.mark.parametrize(("hour", "kept"), [(9, 1), (10, 2), (18, 3)])
def test_readings_end_with_the_moment(hour, kept):
    logger = Readings(day(1), (0, 3600, 7200), (20.0, 21.0, 22.0))
    (known,) = log(temperatures=[logger]).as_of(day(1, hour)).temperatures
    assert known.celsius == (20.0, 21.0, 22.0)[:kept]


def test_readings_that_begin_later_on_the_day_are_not_known():
    logger = Readings(day(1, 12), (0, 3600), (20.0, 21.0))
    assert log(temperatures=[logger]).as_of(day(1)).temperatures == ()
