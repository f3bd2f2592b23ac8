"""When the next events and the adults will come: earliest, likely, latest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from statistics import NormalDist

import numpy as np

from rearlog.analysis.forecasting.emergence import EmergenceDay, emergence
from rearlog.analysis.forecasting.model import LATEST, MOMENTS, ForecastModel, Window
from rearlog.analysis.stages.heat_needs import extrapolations

_UNCUT_LATEST = NormalDist().inv_cdf(LATEST)
"""Standard deviations to the end of a window."""


@dataclass(frozen=True, slots=True)
class IndividualForecast:
    """One event to come of one living individual, which is now in `stage`.

    `earliest` to `latest` holds it with 90 %, `likely` is its median; None where it cannot be
    foretold. `overdue_days`: by so many days the end of the window was over that held before it
    was seen not to have come; None where that is still to come.
    """

    individual: str
    stage: str
    event: str
    into: str
    earliest: date | None
    likely: date | None
    latest: date | None
    overdue_days: float | None


@dataclass(frozen=True, slots=True)
class EventForecast:
    """An event of the cohort: `n` are to come to it, 90 % of them in the window; `came` did.

    `overdue`: the window is over, and nobody has looked since or they are late.
    """

    event: str
    into: str
    earliest: date | None
    likely: date | None
    latest: date | None
    n: int
    came: int
    overdue: bool


@dataclass(frozen=True, slots=True)
class StagePace:
    """What the profile expects of a stage (or several), and what this cohort is taken to need.

    `finished` individuals have shown it; `se` is how well the adjusted value is known.
    """

    stage: str
    profile: float
    adjusted: float
    se: float
    finished: int


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is to be expected of a cohort.

    `individuals` hold the next event and the last of everyone who still develops, `events` all
    that are to come to someone. `temperature` is the mean to come in °C, `unit` what development
    is counted in (degree-days, or days). `emergence` counts those in the `last_stage` day by day.
    """

    cohort: str
    species: str
    as_of: date
    known_until: datetime
    temperature: float | None
    temperature_words: str
    unit: str
    individuals: tuple[IndividualForecast, ...]
    events: tuple[EventForecast, ...]
    paces: tuple[StagePace, ...]
    last_stage: str
    emergence: tuple[EmergenceDay, ...]
    words: tuple[str, ...]
    notices: tuple[str, ...]


def forecast(model: ForecastModel) -> Forecast:
    """Lay out what a prospect expects.

    Method: heat (or days) still to come in the present stage, whose entry is an interval and
    which has not ended yet, and in the stages after it, spent at the temperature to come. The
    profile's K are adjusted to the cohort's own finished stages, and to each individual's (see
    `pace`); the window holds 90 %. It says nothing of deaths: all dates are for those who live.
    """
    events = tuple(_events(model))
    return Forecast(
        cohort=model.log.cohort.name,
        species=model.log.cohort.species.scientific_name,
        as_of=model.date_of(model.course.now),
        known_until=model.as_of,
        temperature=model.course.celsius,
        temperature_words=model.course.words,
        unit=model.course.unit,
        individuals=tuple(individual_forecasts(model)),
        events=events,
        paces=tuple(_paces(model)),
        last_stage=model.phases.stages[-1],
        emergence=emergence(model),
        words=tuple(_words(model, events)),
        notices=tuple(notices(model)),
    )


def individual_forecasts(model: ForecastModel) -> Iterator[IndividualForecast]:
    """The next event, and the last, of everyone who still develops."""
    predictive, stages = model.predictive, model.phases.stages
    days = model.days(predictive.quantile(np.array(MOMENTS)[:, None, None]))
    uncut = model.days(predictive.mean + _UNCUT_LATEST * predictive.sd)
    for row in np.flatnonzero(predictive.next_stage >= 0).tolist():
        following = int(predictive.next_stage[row])
        for rank in dict.fromkeys((following, len(stages) - 1)):
            late = model.course.now - float(uncut[row, rank])
            yield IndividualForecast(
                model.history.codes[row],
                stages[model.history.last_rank[row]],
                model.events[stages[rank]],
                stages[rank],
                *_dates(model.window(days[:, row, rank])),
                overdue_days=late if rank == following and late > 0 else None,
            )


def _dates(window: Window | None) -> tuple[date | None, date | None, date | None]:
    return (window.earliest, window.likely, window.latest) if window else (None, None, None)


def _events(model: ForecastModel) -> Iterator[EventForecast]:
    for rank, (stage, event) in enumerate(model.events.items(), start=1):
        to_come = int((~np.isnan(model.predictive.mean[:, rank])).sum())
        waiting = int((model.predictive.next_stage == rank).sum())
        if to_come or waiting:
            came = int((~np.isnan(model.history.into_high[:, rank])).sum())
            window = model.window(model.days(model.pooled(rank, MOMENTS)))
            over = window is not None and window.latest < model.date_of(model.course.now)
            yield EventForecast(event, stage, *_dates(window), max(to_come, waiting), came, over)


def _paces(model: ForecastModel) -> Iterator[StagePace]:
    expected, pace = model.phases, model.pace
    for place, need in enumerate(expected.mean.tolist()):
        if not np.isnan(need):
            yield StagePace(
                expected.name(place),
                need,
                need * float(pace.mean[place]),
                need * float(pace.covariance[place, place]) ** 0.5,
                int(pace.finished[place]),
            )


def _words(model: ForecastModel, events: tuple[EventForecast, ...]) -> Iterator[str]:
    if not events:
        yield "Nobody is still developing: nothing is to come."
        return
    last = events[-1]
    if last.into == model.phases.stages[-1] and last.likely is not None:
        when = f"half by {last.likely}, 90 % between {last.earliest} and {last.latest}, if all live"
        if last.overdue:
            when = f"all were expected by {last.latest} and none is on record yet"
        yield f"{last.event.capitalize()}: of the {last.n} still to come, {when}."
    yield f"Temperature to come: {model.course.words}."
    finished = int(model.pace.finished.sum())
    if finished:
        yield (
            f"The profile's {model.course.unit} are adjusted to the {finished} stages that "
            "individuals of this cohort have finished."
        )


def notices(model: ForecastModel) -> Iterator[str]:
    """What a reader should know of it: what it does not rest on, or rests on beyond its range."""
    developing = model.predictive.next_stage >= 0
    if not developing.any():
        return
    yield from model.course.notices
    first = int(model.history.last_rank[developing].min())
    profile, unit = model.log.cohort.species, model.course.unit
    if unit == "days":
        lacks = "temperature is known" if profile.lower else "lower threshold is known"
        yield f"No {lacks}: counted in the profile's days{_held_at(model, first)}"
    elif model.course.celsius is not None:
        yield from extrapolations(profile.stages[first:-1], model.course.celsius)
        if not model.course.rate > 0:
            yield f"At {model.course.celsius:.1f} °C development stands still"
    for place, phase in enumerate(model.phases.phases):
        if phase.until <= first:
            continue
        if phase.mean is None and not phase.optional:
            yield f"How long {model.phases.name(place)} takes is not known: nothing beyond it"
        if not phase.optional:
            yield from phase.words
    passed = [stage.code for stage in profile.stages[first:] if stage.optional]
    if passed:
        yield f"Passed over unless seen: {', '.join(passed)}"


def _held_at(model: ForecastModel, first: int) -> str:
    """The temperatures that the days of the stages to come hold for."""
    ranges = dict.fromkeys(
        phase.celsius
        for phase in model.phases.phases
        if phase.until > first and phase.celsius is not None
    )
    if not ranges:
        return ", whatever the temperature"
    told = [f"{low:g}" if low == high else f"{low:g} to {high:g}" for low, high in ranges]
    return f", at {' and '.join(told)} °C"
