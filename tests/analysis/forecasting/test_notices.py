"""What a forecast had to assume, of those stages that are still to come."""

from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.notices import (
    CountedInDays,
    LengthUnknown,
    NoLengthKnown,
    StandsStill,
    notices,
)
from rearlog.analysis.stages.profile_values import SpreadAssumed, StagesPassedOver
from rearlog.records.log import CohortLog
from tests.analysis.invented_forecasts import observed, on
from tests.analysis.invented_moth import eggs, moth, number, stage


def told(log: CohortLog, day: int = 2) -> list[object]:
    return list(notices(forecast_model(log, on(day))))


def test_development_stands_still_at_the_threshold_and_creeps_above_it() -> None:
    assert told(eggs(2, celsius=8.0)) == [StandsStill(8.0)]
    assert told(eggs(2, celsius=8.5)) == []


def test_stages_that_are_over_are_not_spoken_of() -> None:
    known = number(75.0, sd=8.0)
    profile = moth(stage("L2", optional=True), stage("L3", degree_days=known))
    log = eggs(2, celsius=20.0, profile=profile)
    assert told(log) == [StagesPassedOver(("L2",))]
    assert told(observed(log, ("1", 1, "L3"), ("2", 1, "pupa"))) == []
    assert told(observed(log, ("1", 1, "dead"), ("2", 1, "adult"))) == []


def test_without_a_temperature_the_days_that_count_are_those_to_come() -> None:
    profile = moth(
        stage("egg", degree_days=None, days=number(5.0, sd=0.5, at_celsius=(18.0, 22.0))),
        stage("L1", degree_days=None, days=number(4.0, sd=0.5, at_celsius=(24.0, 26.0))),
    )
    log = replace(eggs(2, profile=profile), all_temperatures=())
    (counted, *_) = told(log)
    assert counted == CountedInDays(True, ((18.0, 22.0), (24.0, 26.0)))
    (counted, *_) = told(observed(log, ("1", 1, "L1"), ("2", 1, "L1")))
    assert counted == CountedInDays(True, ((24.0, 26.0),))


def test_a_length_that_is_not_known_or_not_sure_matters_until_the_stage_is_left() -> None:
    """L2 has no length, L3 no spread; 1 is in the stage, 2 is an adult from the first look on."""
    log = eggs(
        2,
        celsius=20.0,
        profile=moth(stage("L2", degree_days=None), stage("L3", degree_days=number(75.0))),
    )
    unknown, assumed = LengthUnknown("L2"), SpreadAssumed("L3", 0.1)
    for first, expected in {
        "L1": [unknown, assumed],
        "L2": [unknown, assumed],
        "L3": [assumed],
        "pupa": [],
    }.items():
        assert told(observed(log, ("1", 1, first), ("2", 1, "adult"))) == expected


def test_stages_that_may_be_passed_over_are_named_and_nothing_is_said_of_their_lengths() -> None:
    """Neither that it is not known, nor at which temperature it holds."""
    days = number(4.0, sd=0.5, at_celsius=(24.0, 26.0))
    unknown = moth(stage("L2", degree_days=None, optional=True))
    assert told(eggs(2, celsius=20.0, profile=unknown)) == [StagesPassedOver(("L2",))]
    every = [
        stage(code, degree_days=None, days=replace(days, at_celsius=(18.0, 22.0)))
        for code in ("egg", "L1", "L3", "pupa")
    ]
    known = moth(*every, stage("L2", degree_days=None, days=days, optional=True))
    in_days = replace(eggs(2, profile=known), all_temperatures=())
    assert told(in_days)[0] == CountedInDays(True, ((18.0, 22.0),))
    assert told(in_days)[-1] == StagesPassedOver(("L2",))


def test_where_only_what_may_be_passed_over_has_a_length_nothing_can_be_foretold() -> None:
    bare = [stage(code, degree_days=None) for code in ("egg", "L1", "L3", "pupa")]
    log = eggs(2, celsius=20.0, profile=moth(*bare, stage("L2", optional=True)))
    assert told(log) == [NoLengthKnown()]
    one = moth(*bare[:3], stage("L2", optional=True))  # the pupa has a length
    assert told(eggs(2, celsius=20.0, profile=one))[0] == LengthUnknown("egg")


def test_how_long_adults_live_at_which_temperature_is_none_of_a_forecast() -> None:
    profile = moth(stage("adult", days=number(9.0, sd=1.0, at_celsius=(28.0, 30.0))))
    assert told(eggs(2, celsius=20.0, profile=profile)) == []
