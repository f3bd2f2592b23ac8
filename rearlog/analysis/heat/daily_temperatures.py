"""The temperatures of a cohort laid out by calendar day: recorded, filled or missing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.records.clock import CohortClock, in_zone
from rearlog.records.columns import columns_of
from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Readings,
)

RECORDED, FILLED, MISSING = range(3)
LONGEST_FILL_DAYS = 3
"""Gaps of up to this many days are filled from the days beside them; longer ones stay unknown."""
LONGEST_READING_GAP_DAYS = 0.25
"""Two logger readings farther apart than this do not tell the curve between them."""
LEAST_OF_DAY = 0.5
"""Readings that reach over less than this part of a day do not tell its extremes."""


@dataclass(frozen=True, eq=False)
class Temperatures:
    """Temperatures (°C) of n calendar days; times are days since the cohort's zero.

    `edges` (n + 1,) are the midnights. `minimum` and `maximum` (n,) are NaN on missing days;
    `status` (n,) is RECORDED, FILLED or MISSING. `logged` (n,) marks days that the logger's
    readings (`reading_days`, `reading_celsius`, both (m,)) cover from end to end.
    """

    dates: tuple[date, ...]
    edges: Floats
    minimum: Floats
    maximum: Floats
    status: npt.NDArray[np.int64]
    logged: Booleans
    reading_days: Floats
    reading_celsius: Floats

    @property
    def missing_dates(self) -> tuple[date, ...]:
        """The days whose temperature is not known."""
        return tuple(self.dates[place] for place in np.flatnonzero(self.status == MISSING))

    @property
    def any_known(self) -> bool:
        """Whether there is any temperature at all."""
        return bool((self.status != MISSING).any())


def lay_out(log: CohortLog) -> Temperatures:
    """Lay out a log's temperatures by day, from its start to its last check or temperature.

    A day takes the logger's readings where they cover it, else its minimum and maximum, else
    the constant temperature kept on it; gaps are filled as LONGEST_FILL_DAYS says.
    """
    first, count = _days_of(log)
    clock = log.cohort.clock
    edges = np.array(clock.midnights(first, count))
    minimum, maximum = np.full(count, np.nan), np.full(count, np.nan)
    for record in log.temperatures:
        if isinstance(record, ConstantTemperature):
            start = max(0, (record.first - first).days)
            end = count if record.last is None else (record.last - first).days + 1
            minimum[start : max(0, end)] = maximum[start : max(0, end)] = record.celsius
    for record in log.temperatures:
        if isinstance(record, DayExtremes):
            place = (record.date - first).days
            if 0 <= place < count:
                minimum[place], maximum[place] = record.min_c, record.max_c
    times, celsius = _readings(
        (each for each in log.temperatures if isinstance(each, Readings)), clock
    )
    logged = _covered(edges, times)
    _take_extremes(edges, times, celsius, logged, minimum, maximum)
    status = np.where(np.isnan(minimum), MISSING, RECORDED)
    _fill(minimum, maximum, status)
    return Temperatures(
        dates=tuple(first + timedelta(days=step) for step in range(count)),
        edges=edges,
        minimum=minimum,
        maximum=maximum,
        status=status,
        logged=logged,
        reading_days=times,
        reading_celsius=celsius,
    )


def _days_of(log: CohortLog) -> tuple[date, int]:
    """The first calendar day that matters and how many there are."""
    started = log.cohort.started
    first = min((_earliest(each) for each in log.individuals), default=started)
    seconds = max(columns_of(log).seconds.distinct, default=started.timestamp())
    last = in_zone(datetime.fromtimestamp(seconds, UTC), log.cohort.zone)
    begin, end = min(first, started).date(), max(last, started).date()
    for record in log.temperatures:
        if isinstance(record, DayExtremes):
            end = max(end, record.date)
        elif isinstance(record, ConstantTemperature) and record.last is not None:
            end = max(end, record.last)
        elif isinstance(record, Readings):
            end = max(end, (record.at + timedelta(seconds=record.seconds[-1])).date())
    return begin, (end - begin).days + 1


def _earliest(individual: Individual) -> datetime:
    return individual.laid_after or individual.laid_by or individual.entered_at


def _readings(records: Iterable[Readings], clock: CohortClock) -> tuple[Floats, Floats]:
    """All readings in time order, each moment once: days since zero and °C."""
    times, celsius = [np.empty(0)], [np.empty(0)]
    for record in records:
        seconds = np.array(record.seconds, dtype=float) + record.at.timestamp()
        times.append(clock.days_of(seconds))
        celsius.append(np.array(record.celsius, dtype=float))
    every, first = np.unique(np.concatenate(times), return_index=True)
    return every, np.concatenate(celsius)[first]


def _covered(edges: Floats, times: Floats) -> Booleans:
    """Which days have readings from end to end, without a gap that is too long."""
    count = len(edges) - 1
    if len(times) < 2:
        return np.zeros(count, dtype=bool)
    limit = LONGEST_READING_GAP_DAYS
    covered = (edges[:-1] >= times[0] - limit) & (edges[1:] <= times[-1] + limit)
    for gap in np.flatnonzero(np.diff(times) > limit):
        covered &= (edges[1:] <= times[gap]) | (edges[:-1] >= times[gap + 1])
    return np.asarray(covered)


def _take_extremes(
    edges: Floats,
    times: Floats,
    celsius: Floats,
    logged: Booleans,
    minimum: Floats,
    maximum: Floats,
) -> None:
    """Take each day's extremes from its readings, where they reach over LEAST_OF_DAY of it."""
    if len(times) == 0:
        return
    begin = np.searchsorted(times, edges[:-1], side="left")
    end = np.searchsorted(times, edges[1:], side="right")
    spread = times[end - 1] - times[np.minimum(begin, len(times) - 1)]
    enough = logged | (np.isnan(minimum) & (spread >= LEAST_OF_DAY * np.diff(edges)))
    days = np.flatnonzero((end > begin) & enough)
    runs = np.column_stack((begin[days], end[days])).ravel()  # every other one lies between days
    minimum[days] = np.minimum.reduceat(np.append(celsius, np.inf), runs)[::2]
    maximum[days] = np.maximum.reduceat(np.append(celsius, -np.inf), runs)[::2]


def _fill(minimum: Floats, maximum: Floats, status: npt.NDArray[np.int64]) -> None:
    """Fill short gaps: in a straight line between neighbours, at an end with the nearest day."""
    known = np.flatnonzero(status == RECORDED)
    if len(known) == 0:
        return
    bounds = np.concatenate(([-1], known, [len(status)]))
    days = np.arange(len(status))
    for before, after in pairwise(bounds):
        gap = days[before + 1 : after]
        if 0 < len(gap) <= LONGEST_FILL_DAYS:
            minimum[gap] = np.interp(gap, known, minimum[known])
            maximum[gap] = np.interp(gap, known, maximum[known])
            status[gap] = FILLED
