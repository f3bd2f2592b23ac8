"""Temperatures without gaps: what a forecast needs and a record seldom is.

Straight lines between the days that are known: common practice, and an assumption.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from rearlog.analysis.heat.daily_temperatures import FILLED, MISSING, RECORDED, Temperatures
from rearlog.records.clock import CohortClock
from rearlog.records.log import DayExtremes


@dataclass(frozen=True, slots=True)
class FilledGaps:
    """So many `days` from `first` to `last` had no temperature and took that of the days beside."""

    days: int
    first: date
    last: date


def without_gaps(laid_out: Temperatures) -> tuple[Temperatures, FilledGaps | None]:
    """The temperatures up to the last known day, gaps filled from the days beside them.

    Longer gaps are filled too than `lay_out` fills, which is told. Some day must be known.
    """
    known = np.flatnonzero(laid_out.status != MISSING)
    days = np.arange(known[-1] + 1)
    kept = slice(len(days))
    gaps = np.flatnonzero(laid_out.status[kept] == MISSING)
    filled = replace(
        laid_out,
        dates=laid_out.dates[kept],
        edges=laid_out.edges[: len(days) + 1],
        minimum=np.interp(days, known, laid_out.minimum[known]),
        maximum=np.interp(days, known, laid_out.maximum[known]),
        status=np.where(laid_out.status[kept] == MISSING, FILLED, laid_out.status[kept]),
        logged=laid_out.logged[kept],
    )
    if len(gaps) == 0:
        return filled, None
    return filled, FilledGaps(len(gaps), laid_out.dates[gaps[0]], laid_out.dates[gaps[-1]])


def at_one_level(laid_out: Temperatures, celsius: float) -> Temperatures:
    """The same days at one temperature (°C)."""
    level = np.full(len(laid_out.dates), celsius)
    status = np.full(len(laid_out.dates), RECORDED)
    return replace(laid_out, minimum=level, maximum=level, status=status)


def extended(known: Temperatures, days: Sequence[DayExtremes], clock: CohortClock) -> Temperatures:
    """The days that are known, those given after them, and in a straight line what is between."""
    count = (days[-1].date - known.dates[0]).days + 1
    dates = tuple(known.dates[0] + timedelta(step) for step in range(count))
    given = [(each.date - known.dates[0]).days for each in days]
    places = [*range(len(known.dates)), *given]
    every = np.arange(count)
    status = np.full(count, FILLED)
    status[: len(known.dates)], status[given] = known.status, RECORDED
    return replace(
        known,
        dates=dates,
        edges=np.array(clock.midnights(dates[0], count)),
        minimum=np.interp(every, places, [*known.minimum, *(each.min_c for each in days)]),
        maximum=np.interp(every, places, [*known.maximum, *(each.max_c for each in days)]),
        status=status,
        logged=np.concatenate((known.logged, np.zeros(count - len(known.dates), dtype=bool))),
    )
