"""What a reader should know of a forecast: what it lacks, and what it takes beyond its range."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from rearlog.analysis.forecasting.forecast_model import ForecastModel
from rearlog.analysis.forecasting.future_temperature import TemperatureNotice
from rearlog.analysis.forecasting.phases import DaysOnly
from rearlog.analysis.stages.profile_values import (
    Extrapolation,
    Range,
    SpreadAssumed,
    StagesPassedOver,
    beyond_measured,
)


class CountedInDays(Struct, frozen=True):
    """Development is counted in the profile's days, since no temperature is known, or no lower
    threshold. They hold for the temperatures `measured_celsius` (°C; none: not said)."""

    threshold_known: bool
    measured_celsius: tuple[Range, ...]


class StandsStill(Struct, frozen=True):
    """At this temperature to come (°C) there is no development."""

    celsius: float


class LengthUnknown(Struct, frozen=True):
    """How long a stage (or several) takes is not known, so nothing beyond it is foretold."""

    stage: str


class NoLengthKnown(Struct, frozen=True):
    """How long any of the stages to come takes is not known: nothing can be foretold."""


ForecastNotice = (
    TemperatureNotice
    | NoLengthKnown
    | CountedInDays
    | Extrapolation
    | StandsStill
    | LengthUnknown
    | DaysOnly
    | SpreadAssumed
    | StagesPassedOver
)


def notices(model: ForecastModel) -> Iterator[ForecastNotice]:
    """All of it, as far as it matters to those who still develop."""
    developing = model.predictive.next_stage >= 0
    if not developing.any():
        return
    first = int(model.history.last_rank[developing].min())
    every = enumerate(model.phases.phases)
    to_come = {place: each for place, each in every if each.until > first and not each.optional}
    if all(phase.mean is None for phase in to_come.values()):
        yield NoLengthKnown()
        return
    yield from model.course.notices
    profile = model.log.cohort.species
    if model.course.unit == "days":
        ranges = dict.fromkeys(phase.celsius for phase in to_come.values() if phase.celsius)
        yield CountedInDays(profile.lower is not None, tuple(ranges))
    elif model.course.celsius is not None:
        yield from beyond_measured(profile.stages[first:-1], model.course.celsius)
        if not model.course.rate > 0:
            yield StandsStill(model.course.celsius)
    for place, phase in to_come.items():
        if phase.mean is None:
            yield LengthUnknown(model.phases.name(place))
        yield from phase.assumed
    passed = tuple(stage.code for stage in profile.stages[first:] if stage.optional)
    if passed:
        yield StagesPassedOver(passed)
