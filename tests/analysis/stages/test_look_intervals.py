"""How far looks lie apart."""

from msgspec.structs import replace

from rearlog.analysis.stages.look_intervals import LookIntervals, look_intervals
from rearlog.records.fields import Mark
from tests.builders import moment, tiny_log


def test_intervals_are_those_of_each_individual_from_its_entry_on() -> None:
    log = tiny_log({"a": "egg - egg L1", "b": "egg - - - - L1"})  # days 0, 2, 3 and 0, 5
    found = look_intervals(log)
    assert found is not None
    assert (found.looks, found.median_days, found.longest_days) == (3, 2.0, 5.0)


def test_nobody_looked() -> None:
    assert look_intervals(tiny_log({"a": "egg"})) is None


def test_a_struck_look_is_none() -> None:
    log = tiny_log({"a": "egg egg egg"})
    first, second = log.all_observations
    struck = replace(first, marks=(Mark(moment(3), "typo"),))
    found = look_intervals(replace(log, all_observations=(struck, second)))
    assert found == LookIntervals(1, 2.0, 2.0)
