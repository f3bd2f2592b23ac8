"""When the next events and the adults will come: earliest, likely, latest."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.forecasting.emergence import EmergenceDay, emergence
from rearlog.analysis.forecasting.forecast_model import UNFORESEEN, ForecastModel
from rearlog.analysis.forecasting.future_temperature import TemperatureBasis
from rearlog.analysis.forecasting.individual_forecast import (
    IndividualForecast,
    individual_forecasts,
)
from rearlog.analysis.forecasting.notices import ForecastNotice, notices
from rearlog.analysis.stages.events import ALIVE


class EventForecast(Struct, frozen=True):
    """An event of the cohort: `n` are to come to it, the part that was asked for of them in the
    window; `came` did.

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


class StagePace(Struct, frozen=True):
    """What the profile expects of a stage (or several), and what this cohort is taken to need.

    `finished` individuals have shown it; `se` is how well the adjusted value is known.
    """

    stage: str
    profile: float
    adjusted: float
    se: float
    finished: int


class Forecast(Answer, frozen=True):
    """What is to be expected of a cohort.

    `individuals` hold the next event and the last of everyone who still develops, `events` all
    that are to come to someone. `temperature` is the mean to come in °C, `unit` what development
    is counted in (degree-days, or days). `emergence` counts those in the `last_stage` day by day.
    Windows hold the part `window`. `spread` is how much individuals differ, as a multiple of what
    the profile says; `past_cohorts` have told of it. Somebody looked last on the day `last_look`
    (None: nobody has), when `alive` were. `notices` are what a reader should know.
    """

    cohort: str
    species: str
    as_of: date
    known_until: datetime
    temperature: float | None
    temperature_basis: TemperatureBasis | None
    unit: str
    individuals: tuple[IndividualForecast, ...]
    events: tuple[EventForecast, ...]
    paces: tuple[StagePace, ...]
    window: float
    spread: float
    past_cohorts: int
    last_stage: str
    emergence: tuple[EmergenceDay, ...]
    last_look: date | None
    alive: int
    notices: tuple[ForecastNotice, ...]

    @property
    def finished(self) -> int:
        """How many stages individuals of this cohort have finished, to which K is adjusted."""
        return sum(each.finished for each in self.paces)

    @property
    def last_event(self) -> EventForecast | None:
        """The last event that is still to come to somebody."""
        return next((each for each in reversed(self.events) if each.n), None)

    @property
    def is_over(self) -> bool:
        """Whether all should have come, and nobody has looked since or they are late: then there is
        nothing to foretell."""
        return self.last_event is not None and self.last_event.overdue


def forecast(model: ForecastModel) -> Forecast:
    """Lay out what a model expects.

    Method: heat (or days) still to come in the present stage, whose entry is an interval and
    which has not ended yet, and in the stages after it, spent at the temperature to come. The
    profile's K are adjusted to the cohort's own finished stages, and to each individual's (see
    `cohort_pace`). It says nothing of deaths: all dates are for those who live.
    """
    return Forecast(
        cohort=model.log.cohort.name,
        species=model.log.cohort.species.scientific_name,
        as_of=model.date_of(model.course.now),
        known_until=model.as_of,
        temperature=model.course.celsius,
        temperature_basis=model.course.basis,
        unit=model.course.unit,
        individuals=tuple(individual_forecasts(model)),
        events=tuple(_events(model)),
        paces=tuple(_paces(model)),
        window=model.part,
        spread=model.learned.factor,
        past_cohorts=model.past_cohorts,
        last_stage=model.phases.stages[-1],
        emergence=emergence(model),
        last_look=_last_look(model),
        alive=int((model.history.fate == ALIVE).sum()),
        notices=tuple(notices(model)),
    )


def _last_look(model: ForecastModel) -> date | None:
    looks = [checks[-1].at for checks in model.log.checks.values() if checks]
    return model.log.cohort.clock.day(max(looks)) if looks else None


def _events(model: ForecastModel) -> Iterator[EventForecast]:
    for rank, (stage, event) in enumerate(model.events.items(), start=1):
        to_come = int((~np.isnan(model.predictive.mean[:, rank])).sum())
        waiting = int((model.predictive.next_stage == rank).sum())
        if to_come or waiting:
            came = int((~np.isnan(model.history.into_high[:, rank])).sum())
            window = model.window(model.days(model.pooled(rank, model.moments)))
            over = window is not None and window.latest < model.date_of(model.course.now)
            earliest, likely, latest = window or UNFORESEEN
            n = max(to_come, waiting)
            yield EventForecast(event, stage, earliest, likely, latest, n, came, over)


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
