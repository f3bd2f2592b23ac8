"""Cohorts whose lives are drawn without any of rearlog's arithmetic, to be forecast.

Heat is added up hour by hour; what a stage takes has a gamma distribution whose spread is chosen
here, not the profile's; the half of its variance is an animal's own pace, which it keeps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.records.log import Cohort, CohortLog, DayExtremes, Individual, Observation
from rearlog.records.profile import Profile

LAID = datetime(2026, 3, 8, tzinfo=UTC)
DAYS = 120
EGGS = 24
HOURS = np.arange(24 * DAYS) / 24

Rng = np.random.Generator
Room = Callable[[Rng], np.ndarray]
"""Draws the temperature of every hour."""


def _days(rng: Rng, sd: float, alike: float) -> np.ndarray:
    """A deviation for each day, which resembles that of the day before."""
    found = np.empty(DAYS)
    found[0] = rng.normal(0, sd)
    for day in range(1, DAYS):
        found[day] = alike * found[day - 1] + rng.normal(0, sd * (1 - alike**2) ** 0.5)
    return found


def room(
    celsius: float, swing: float = 1.0, sd: float = 0.7, alike: float = 0.6, warming: float = 0.0
) -> Room:
    """A room that swings by ± `swing` a day, whose days differ, and which may warm (°C a day)."""

    def draw(rng: Rng) -> np.ndarray:
        return (
            celsius
            + warming * HOURS
            + np.repeat(_days(rng, sd, alike), 24)
            - swing * np.cos(2 * np.pi * (HOURS - 3 / 24))
        )

    return draw


@dataclass(frozen=True)
class Grown:
    """A cohort that is known to the end: its log, and when each came into which stage."""

    log: CohortLog
    into: np.ndarray


@dataclass(frozen=True)
class Setting:
    """A room, how much animals differ in a stage, and the width of a window of 90 % (days) that
    knows all but what is to come: 3.29 SD of the days to eclosion about their regression on the
    stage, how long it and those before took, and the temperature of the last week and day
    (computed from 150 cohorts of one factor)."""

    room: Room
    own_cv: float
    knowing: float


SETTINGS = {
    "an incubator": Setting(room(22.0, sd=0.15), 0.12, 3.8),
    "even animals": Setting(room(22.0), 0.08, 3.0),
    "animals as the profile has them": Setting(room(22.0), 0.12, 4.1),
    "uneven animals": Setting(room(22.0), 0.16, 5.2),
    "a room that warms by 1 °C in ten days": Setting(room(20.0, warming=0.1), 0.12, 3.9),
    "a room that warms by 2 °C in ten days": Setting(room(20.0, warming=0.2), 0.12, 3.3),
    "days and nights that differ": Setting(room(21.0, swing=8.0, sd=2.5), 0.12, 6.8),
}


def grown(
    profile: Profile,
    draw: Room,
    seed: int,
    own_cv: float,
    cohort_cv: float = 0.08,
    at: float | None = None,
    laid: datetime = LAID,
) -> Grown:
    """A cohort of eggs, looked at every day at nine; nobody dies.

    Its factor of the profile's heat is drawn with `cohort_cv`, or is the one given.
    """
    start = laid + timedelta(hours=33)
    rng = np.random.default_rng([seed, 7])
    hourly = draw(rng)
    heat = np.append(0.0, np.cumsum(np.maximum(hourly - profile.lower.value, 0.0)) / 24)
    stages = [each for each in profile.stages if not each.optional]
    means = np.array([each.degree_days.value for each in stages[:-1]])
    means = means * (1 + rng.normal(0, cohort_cv) if at is None else at)
    shape = 2 / own_cv**2
    pace = rng.gamma(shape, 1 / shape, (EGGS, 1))
    needs = means * pace * rng.gamma(shape, 1 / shape, (EGGS, len(means)))
    born = rng.uniform(0, 1, EGGS)
    reached = np.interp(born, np.append(HOURS, DAYS), heat)[:, None] + np.cumsum(needs, axis=1)
    into = np.column_stack((born, np.interp(reached, heat, np.append(HOURS, DAYS))))
    assert into.max() < DAYS - 1
    codes = [each.code for each in stages]
    looks = [
        Observation(
            str(who + 1), start + timedelta(day - 1), codes[int((row <= day + 9 / 24).sum()) - 1]
        )
        for day in range(1, int(into.max()) + 2)
        for who, row in enumerate(into)
    ]
    by_day = hourly.reshape(DAYS, 24)
    return Grown(
        CohortLog(
            Cohort("eggs", profile, "UTC", start, start),
            tuple(
                Individual(str(who + 1), start, stages[0].code, laid, laid + timedelta(1))
                for who in range(EGGS)
            ),
            all_observations=tuple(looks),
            all_temperatures=tuple(
                DayExtremes((laid + timedelta(day)).date(), float(each.min()), float(each.max()))
                for day, each in enumerate(by_day)
            ),
        ),
        into,
    )


@dataclass(frozen=True)
class Held:
    """Of one forecast: eclosions to come, how many came in their windows, how wide those were."""

    eclosions: int
    inside: int
    days: float


def held(made: Grown, share_of_larva: float = 0.5, window: float = 0.9) -> Held:
    """Forecast when the median individual is part through its larval life, and compare."""
    middle = np.median(made.into, axis=0)
    day = middle[1] + share_of_larva * (middle[-2] - middle[1])
    as_of = LAID + timedelta(days=float(np.floor(day)), hours=9, minutes=1)
    rows = [
        each
        for each in forecast(forecast_model(made.log, as_of, part=window)).individuals
        if each.into == made.log.cohort.species.codes[-1]
    ]
    last = made.into[:, -1].tolist()
    came = [(LAID + timedelta(last[int(each.individual) - 1])).date() for each in rows]
    inside = sum(
        each.earliest is not None and each.earliest <= day <= each.latest
        for each, day in zip(rows, came, strict=True)
    )
    wide = float(np.mean([(each.latest - each.earliest).days + 1 for each in rows if each.latest]))
    return Held(len(rows), inside, wide)
