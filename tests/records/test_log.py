"""What a log tells of its individuals: tiny logs, one thing each."""

from datetime import timedelta, timezone

import pytest
from msgspec.structs import replace

from rearlog.records.log import DayExtremes, Individual, Mark, Observation, state_at, time_order
from tests.builders import START, moment, seen, tiny_log

STRUCK = Mark(moment(9), "wrong cup")


def states(checks: list[Observation]) -> list[str]:
    return [each.fate or each.stage or "" for each in checks]


def test_checks_stand_in_time_order_whatever_the_order_of_writing() -> None:
    log = tiny_log({"1": "egg", "2": "egg"})
    written = (seen("1", 3, "L2"), seen("2", 1, "egg"), seen("1", 1, "egg"), seen("1", 2, "L1"))
    log = replace(log, all_observations=written)
    assert states(log.checks["1"]) == ["egg", "L1", "L2"]
    assert states(log.checks["2"]) == ["egg"]
    assert log.all_observations == written


def test_struck_checks_do_not_count_and_are_not_lost() -> None:
    log = tiny_log({"1": "egg L1 L2"})
    first, second = log.all_observations
    log = replace(log, all_observations=(replace(first, marks=(STRUCK,)), second))
    assert states(log.checks["1"]) == ["L2"]
    assert len(log.all_observations) == 2


def test_individuals_without_checks_have_an_empty_list() -> None:
    assert tiny_log({"1": "egg"}).checks == {"1": []}


def test_struck_temperatures_do_not_count() -> None:
    day = DayExtremes(START.date(), 18.0, 24.0)
    log = tiny_log({}, temperatures=(day, replace(day, marks=(STRUCK,))))
    assert log.temperatures == (day,)


def test_at_one_instant_the_order_is_that_of_writing_and_new_ones_are_last() -> None:
    new, old, older = (replace(seen("1", 1, "L1"), number=number) for number in (None, 12, 7))
    assert sorted((new, old, older), key=time_order) == [older, old, new]


def test_instants_are_compared_across_offsets() -> None:
    early = replace(seen("1", 1, "egg"), at=moment(1).astimezone(timezone(timedelta(hours=12))))
    late = replace(seen("1", 1.2, "L1"), at=moment(1.2).astimezone(timezone(timedelta(hours=-9))))
    # by their clocks it looks the other way round
    assert early.at.replace(tzinfo=None) > late.at.replace(tzinfo=None)
    assert sorted((late, early), key=time_order) == [early, late]


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        (0.5, ("egg", 0, None)),
        (1, ("L1", 1, None)),  # a check counts from its own moment on
        (2.5, ("L2", 2, None)),
        (3, ("L2", 3, "dead")),  # the stage at death is the last one known
        (99, ("L2", 3, "dead")),
    ],
)
def test_the_state_at_an_instant(at: float, expected: tuple[str, float, str | None]) -> None:
    log = tiny_log({"1": "egg L1 L2 dead"})
    stage, since, fate = expected
    found = state_at(log.by_code["1"], log.checks["1"], moment(at))
    assert found == (stage, moment(since), fate)


def test_a_death_may_name_another_stage_than_the_last_one_seen() -> None:
    check = replace(seen("1", 2, "dead"), stage="pupa")
    found = state_at(Individual("1", START, "egg"), [seen("1", 1, "L2"), check], moment(3))
    assert found == ("pupa", moment(2), "dead")


def test_records_cannot_be_changed() -> None:
    with pytest.raises(AttributeError, match="immutable"):
        seen("1", 1, "L1").stage = "L2"  # type: ignore[misc]
