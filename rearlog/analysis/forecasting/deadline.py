"""The question turned round: how warm, or laid when, for the adults to be out by a day."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, datetime, timedelta

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.forecast_model import FARTHEST_DAYS, ForecastModel, forecast_model
from rearlog.analysis.forecasting.future_temperature import (
    LIKE_LATELY,
    FutureTemperature,
    TemperatureBasis,
)
from rearlog.analysis.forecasting.individual_state import individual_states
from rearlog.analysis.forecasting.notices import ForecastNotice
from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.predictive_distribution import predict
from rearlog.analysis.stages.profile_values import beyond_measured
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.profile import Profile

SHARES = (0.5, 0.95)
"""Half of those to come, and nearly all of them."""

BEYOND_MEASURED_C = 2.0
"""So far above the temperatures that a profile was measured at one is still named: an assumption.
Beyond them heat slows development down, and then kills."""

WARMEST_C = 30.0
"""The warmest that is named where a profile does not say at what it was measured: an assumption."""


class Aim(Struct, frozen=True):
    """What it takes for a `share` of the individuals to be in the last stage by the day.

    `celsius` is the constant temperature from now on, in whole degrees; None where none that the
    animals can be trusted to bear will do, or nobody is to come. `laid_by` is the last day on
    which the eggs of a new cohort may be laid, at the temperature to come; None where development
    stands still.
    """

    share: float
    celsius: float | None
    laid_by: date | None


class Deadline(Answer, frozen=True):
    """What it takes for the last event to have come by the end of the day `by`.

    `n` individuals of the cohort are still to come to it; `temperature` (°C) is that to come, and
    `warmest` (°C) the warmest that is named.
    """

    cohort: str
    as_of: date
    by: date
    event: str
    n: int
    temperature: float
    temperature_basis: TemperatureBasis
    warmest: float
    aims: tuple[Aim, ...]
    notices: tuple[ForecastNotice, ...]

    def is_over(self, aim: Aim) -> bool:
        """Whether the last day on which the eggs may be laid has been."""
        return aim.laid_by is not None and aim.laid_by < self.as_of


def deadline(
    log: CohortLog, as_of: datetime, by: date, coming: FutureTemperature = LIKE_LATELY
) -> Deadline:
    """Solve the forecast for the temperature, and for the day of laying.

    The heat still needed is the forecast's, with its spread between individuals. At a constant
    temperature it comes at as many degree-days a day as that is above the lower threshold, up to
    the warmest that is safe to name. Raises UsageError for a day that is not to come, and without
    degree-days.
    """
    told = forecast_model(log, as_of, coming)
    if by <= told.date_of(told.course.now):
        raise UsageError(f"{by} is not a day to come", "name a later one")
    basis = told.course.basis
    if told.course.curve is None or basis is None:
        raise UsageError(
            "this question needs degree-days",
            "the profile must have a lower threshold and the cohort a temperature",
        )
    # without the chances of weather
    steady = forecast_model(log, as_of, FutureTemperature(basis.celsius))
    now = steady.course.amount(np.array(steady.course.now))
    days = told.day_of(by + timedelta(1)) - told.course.now
    rates = (steady.pooled(-1, np.array(SHARES)) - now) / days
    grows = told.course.rate > 0
    lives = _whole_life(steady) / told.course.rate if grows else np.full(len(SHARES), np.nan)
    warmest = _warmest(log.cohort.species)
    aims = tuple(
        Aim(share, _celsius(steady, rate, warmest), _laid_by(by, life))
        for share, rate, life in zip(SHARES, rates, lives, strict=True)
    )
    n = int((~np.isnan(steady.predictive.mean[:, -1])).sum())
    return Deadline(
        cohort=told.log.cohort.name,
        as_of=told.date_of(told.course.now),
        by=by,
        event=list(told.events.values())[-1],
        n=n,
        temperature=basis.celsius,
        temperature_basis=basis,
        warmest=warmest,
        aims=aims,
        notices=tuple(_notices(steady, aims)),
    )


def _whole_life(steady: ForecastModel) -> Floats:
    """The heat by which SHARES of eggs laid now would be in the last stage; NaN if not known."""
    expected = steady.phases
    shape = 1, len(expected.mean)
    first = np.arange(shape[1])[None, :] == 0
    now = float(steady.course.amount(np.array(steady.course.now)))
    entry = np.where(first, now, np.nan)
    egg = Passages(
        inside=first,
        entry_low=entry,
        entry_high=entry,
        end_low=np.full(shape, now),
        end_high=np.full(shape, np.inf),
        now=np.zeros(1, dtype=np.int64),
        to_come=np.ones(1, dtype=bool),
        entered=np.full(1, now),
    )
    stands = individual_states(egg, expected, steady.pace.mean)
    foreseen = predict(egg, expected, steady.pace, stands, steady.course)
    return np.asarray(foreseen.quantile(np.array(SHARES)[:, None, None])[:, 0, -1] - now)


def _warmest(profile: Profile) -> float:
    """The warmest constant temperature (°C) that may be named to one who keeps these animals."""
    known = [each.degree_days or each.days for each in profile.stages]
    known += [each.degree_days or each.days for each in profile.spans]
    measured = [each.at_celsius[1] for each in known if each and each.at_celsius]
    warmest = max(measured) + BEYOND_MEASURED_C if measured else WARMEST_C
    return warmest if profile.upper is None else min(warmest, profile.upper.centre)


def _celsius(steady: ForecastModel, rate: float, warmest: float) -> float | None:
    """The constant temperature, in whole degrees, that gives at least so many degree-days a day."""
    lower = steady.log.cohort.species.lower
    assert lower is not None
    if np.isnan(rate) or (celsius := float(math.ceil(lower.centre + rate))) > warmest:
        return None
    return celsius


def _laid_by(by: date, days: float) -> date | None:
    """The last whole day before it is too late."""
    if not days < FARTHEST_DAYS:
        return None
    return by - timedelta(days=int(np.ceil(days)))


def _notices(steady: ForecastModel, aims: tuple[Aim, ...]) -> Iterator[ForecastNotice]:
    yield from steady.course.notices
    developing = steady.history.last_rank[steady.predictive.next_stage >= 0]
    if len(developing) == 0:
        return
    stages = steady.log.cohort.species.stages[developing.min() : -1]
    asked = [aim.celsius for aim in aims if aim.celsius is not None]
    yield from dict.fromkeys(line for celsius in asked for line in beyond_measured(stages, celsius))
