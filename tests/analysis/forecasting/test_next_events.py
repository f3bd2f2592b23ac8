from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.next_events import next_events
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog, Mark
from tests.builders import moment, small_profile, tiny_log

# at the planned 20 °C, 10 degree-days a day: 6 days as an egg, 3 in L1, 4 in L2
HEAT = {"egg": 60.0, "L1": 30.0, "L2": 40.0, "L3": 50.0, "pupa": 90.0}


def log_of(line: str) -> CohortLog:
    log = tiny_log({"1": line}, profile=small_profile(heat=HEAT), laid=(0, 0))
    return replace(log, cohort=replace(log.cohort, planned_celsius=20.0))


def typed_in(log: CohortLog, day: float) -> CohortLog:
    """The log, each of its checks typed in at a moment of its own from a day on."""
    checks = [
        replace(each, entered=moment(day) + timedelta(minutes=number))
        for number, each in enumerate(log.all_observations)
    ]
    return replace(log, all_observations=tuple(checks))


def test_the_next_event_and_no_later_one() -> None:
    (found,) = next_events(log_of("egg egg egg"), moment(2)).values()
    assert (found.individual, found.event, found.likely) == ("1", "hatch", date(2026, 3, 15))


def test_what_was_typed_in_later_counts_if_it_was_seen_by_then() -> None:
    log = typed_in(log_of("egg egg egg egg egg egg L1"), 20)
    assert next_events(log, moment(6))["1"].event == "molt to L2"
    assert next_events(log, moment(5))["1"].event == "hatch"


def test_what_is_struck_out_later_does_not_count() -> None:
    log = log_of("egg egg egg egg egg egg L1")
    mark = Mark(moment(20), "wrong cup")
    *first, last = log.all_observations
    log = replace(log, all_observations=(*first, replace(last, marks=(mark,))))
    assert next_events(log, moment(6))["1"].event == "hatch"


def test_those_that_are_done_have_none() -> None:
    assert next_events(log_of("egg dead"), moment(2)) == {}
    assert next_events(log_of("pupa adult"), moment(2)) == {}


def test_before_the_start_there_is_nothing_to_tell() -> None:
    with pytest.raises(UsageError):
        next_events(log_of("egg"), moment(-1))
