"""Which looks were forgotten: counted by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.stages.completeness import Completeness, completeness
from rearlog.records.log import CohortLog, ConstantTemperature, DayExtremes, Mark
from tests.builders import START, moment, seen, tiny_log

DAY0 = START.date()


def answer(log: CohortLog) -> Completeness:
    return completeness(log, lay_out(log))


def test_a_look_is_due_each_day_after_the_entry_until_the_last_one() -> None:
    found = answer(tiny_log({"1": "egg egg - egg dead", "2": "egg - - L1", "3": "egg"}))
    # 1: days 1, 3, 4 of 4; 2: day 3 of 3; 3 was never looked at, so that nothing says it was due
    assert (found.due, found.missed) == (7, 3)
    assert (found.checks, found.struck) == (4, 0)
    assert found.days == 5
    assert found.unchecked == (DAY0 + timedelta(days=2),)


@pytest.mark.parametrize("line", ["egg egg - egg", "egg - - egg"])
def test_a_look_on_the_day_of_the_entry_makes_up_for_none_that_was_forgotten(line: str) -> None:
    log = tiny_log({"1": line})
    again = replace(log, all_observations=(seen("1", 0.1, "egg"), *log.all_observations))
    assert (answer(again).due, answer(again).missed) == (answer(log).due, answer(log).missed)
    assert answer(again).checks == answer(log).checks + 1


def test_two_looks_on_one_day_are_one_that_was_due() -> None:
    log = tiny_log({"1": "egg egg egg"})
    twice = replace(log, all_observations=(*log.all_observations, seen("1", 2.2, "L1")))
    assert (answer(twice).due, answer(twice).missed, answer(twice).checks) == (2, 0, 3)


def test_who_enters_later_is_due_from_then_on() -> None:
    log = tiny_log({"1": "egg egg egg egg", "2": "egg - - L1"})
    late = replace(log.individuals[1], entered_at=moment(2))
    found = answer(replace(log, individuals=(log.individuals[0], late)))
    assert (found.due, found.missed) == (3 + 1, 0)
    assert found.unchecked == ()


def test_a_struck_look_was_not_made() -> None:
    log = tiny_log({"1": "egg egg egg egg"})
    first, second, third = log.all_observations
    found = answer(
        replace(
            log,
            all_observations=(first, replace(second, marks=(Mark(moment(3), "typo"),)), third),
        )
    )
    assert (found.due, found.missed, found.checks, found.struck) == (3, 1, 2, 1)
    assert found.unchecked == (DAY0 + timedelta(days=2),)


def test_nobody_was_looked_at_yet() -> None:
    found = answer(tiny_log({"1": "egg"}))
    assert (found.due, found.missed, found.checks, found.days, found.unchecked) == (0, 0, 0, 1, ())


def test_temperatures_on_record_filled_and_missing() -> None:
    kept = ConstantTemperature(20.0, DAY0, DAY0 + timedelta(days=1))
    log = tiny_log({"1": "egg" + 12 * " egg"}, temperatures=(kept,))
    log = replace(
        log,
        all_temperatures=(
            kept,
            *(DayExtremes(DAY0 + timedelta(days=day), 18, 22) for day in (4, 9)),
        ),
    )
    found = answer(log)
    # days 0, 1, 4, 9 on record; 2, 3 and 10 to 12 are short gaps; 5 to 8 are one of four days
    assert (found.temperatures.days, found.temperatures.recorded) == (13, 4)
    assert (found.temperatures.filled, found.temperatures.missing) == (5, 4)
    assert found.missing_temperatures == tuple(DAY0 + timedelta(days=day) for day in range(5, 9))
