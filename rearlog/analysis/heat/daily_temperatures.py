"""The temperatures of a cohort laid out by calendar day: recorded, filled or missing."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.records.clock import CohortClock, in_zone
from rearlog.records.columns import columns_of
from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Readings,
)
from rearlog.records.logger_days import LEAST_SPOILT_DAYS, LONGEST_READING_GAP_DAYS

RECORDED, FILLED, MISSING = range(3)
LONGEST_FILL_DAYS = 3
"""Gaps of up to this many days are filled from the days beside them; longer ones stay unknown."""
_TINY = 1e-9


class DayKnown(StrEnum):
    """How the temperature of a day is known."""

    LOGGED = "logged"
    """By a logger's readings from end to end."""
    EXTREMES = "extremes"
    """By its minimum and its maximum."""
    CONSTANT = "constant"
    """It was the same all day."""


class Temperatures(Struct, frozen=True, eq=False):
    """Temperatures (°C) of n calendar days; times are days since the cohort's zero.

    `edges` (n + 1,) are the midnights. `minimum` and `maximum` (n,) are NaN on missing days;
    `status` (n,) is RECORDED, FILLED or MISSING. `logged` (n,) marks days that the logger's
    readings (`reading_days`, `reading_celsius`, both (m,)) cover from end to end; `sparse` (n,)
    those that have readings and are not recorded, since their gaps are too long.
    """

    dates: tuple[date, ...]
    edges: Floats
    minimum: Floats
    maximum: Floats
    status: npt.NDArray[np.int64]
    logged: Booleans
    sparse: Booleans
    reading_days: Floats
    reading_celsius: Floats

    @property
    def missing_dates(self) -> tuple[date, ...]:
        """The days whose temperature is not known."""
        return tuple(self.dates[place] for place in np.flatnonzero(self.status == MISSING))

    @property
    def kept(self) -> tuple[DayKnown, ...]:
        """How the temperatures of the recorded days are known, each way once."""
        by_hand = (self.status == RECORDED) & ~self.logged
        same = self.minimum == self.maximum
        ways = {
            DayKnown.LOGGED: self.logged,
            DayKnown.EXTREMES: by_hand & ~same,
            DayKnown.CONSTANT: by_hand & same,
        }
        return tuple(way for way, days in ways.items() if days.any())

    @property
    def usual_method(self) -> str:
        """How degree-days are counted unless it is said: by readings where a logger was used."""
        return "readings" if self.logged.any() else "single-sine"

    @property
    def any_known(self) -> bool:
        """Whether there is any temperature at all."""
        return bool((self.status != MISSING).any())


def lay_out(log: CohortLog) -> Temperatures:
    """Lay out a log's temperatures by day, from its start to its last check or temperature.

    A day takes the logger's readings where they cover it, else its minimum and maximum, else
    the constant temperature kept on it; gaps are filled as LONGEST_FILL_DAYS says. Readings of a
    part of a day do not tell its extremes: a logger that is silent every night would make the
    days warm.
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
            if place >= 0:
                minimum[place], maximum[place] = record.min_c, record.max_c
    times, celsius = _readings(
        (each for each in log.temperatures if isinstance(each, Readings)), clock
    )
    logged = _covered(edges, times)
    _take_extremes(edges, times, celsius, logged, minimum, maximum)
    status = np.where(np.isnan(minimum), MISSING, RECORDED)
    read = np.diff(np.searchsorted(times, edges)) > 0
    sparse = read & (status == MISSING)
    _fill(minimum, maximum, status)
    return Temperatures(
        dates=tuple(first + timedelta(days=step) for step in range(count)),
        edges=edges,
        minimum=minimum,
        maximum=maximum,
        status=status,
        logged=logged,
        sparse=sparse,
        reading_days=times,
        reading_celsius=celsius,
    )


def _days_of(log: CohortLog) -> tuple[date, int]:
    """The first calendar day that matters and how many there are."""
    started = log.cohort.started
    seconds = max(columns_of(log).seconds.distinct, default=started.timestamp())
    last = in_zone(datetime.fromtimestamp(seconds, UTC), log.cohort.zone)
    begin, end = log.began, max(last, started).date()
    for record in log.temperatures:
        if isinstance(record, DayExtremes):
            end = max(end, record.date)
        elif isinstance(record, ConstantTemperature) and record.last is not None:
            end = max(end, record.last)
        elif isinstance(record, Readings):
            end = max(end, (record.at + timedelta(seconds=record.seconds[-1])).date())
    return begin, (end - begin).days + 1


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
    """Which days have readings from end to end: no more than LEAST_SPOILT_DAYS of them lie in gaps
    of more than LONGEST_READING_GAP_DAYS."""
    if not len(times):
        return np.zeros(len(edges) - 1, dtype=bool)
    # what is before the first reading and after the last one is a gap from or to a midnight
    first = edges[max(0, np.searchsorted(edges, times[0], side="right") - 1)]
    last = edges[min(len(edges) - 1, np.searchsorted(edges, times[-1], side="left"))]
    bounds = np.concatenate(([min(first, times[0])], times, [max(last, times[-1])]))
    gaps = np.diff(bounds)
    too_long = gaps > LONGEST_READING_GAP_DAYS + _TINY
    silent = np.append(0.0, np.cumsum(np.where(too_long, gaps, 0.0)))
    spoilt = np.diff(np.interp(edges, bounds, silent))
    within = (edges[:-1] >= bounds[0] - _TINY) & (edges[1:] <= bounds[-1] + _TINY)
    return np.asarray(within & (spoilt <= LEAST_SPOILT_DAYS + _TINY))


def _take_extremes(
    edges: Floats,
    times: Floats,
    celsius: Floats,
    logged: Booleans,
    minimum: Floats,
    maximum: Floats,
) -> None:
    """Take the extremes of the days that readings cover from those."""
    begin = np.searchsorted(times, edges[:-1], side="left")
    end = np.searchsorted(times, edges[1:], side="right")
    # every other run lies between days
    runs = np.column_stack((begin[logged], end[logged])).ravel()
    padded = np.append(celsius, np.nan)  # a day may end with the last reading
    minimum[logged] = np.minimum.reduceat(padded, runs)[::2]
    maximum[logged] = np.maximum.reduceat(padded, runs)[::2]


def _fill(minimum: Floats, maximum: Floats, status: npt.NDArray[np.int64]) -> None:
    """Fill short gaps: in a straight line between neighbours, at an end with the nearest day."""
    known = np.flatnonzero(status == RECORDED)
    if len(known) == 0:
        return
    bounds = np.concatenate(([-1], known, [len(status)]))
    days = np.arange(len(status))
    for before, after in pairwise(bounds):
        gap = days[before + 1 : after]
        if len(gap) <= LONGEST_FILL_DAYS:
            minimum[gap] = np.interp(gap, known, minimum[known])
            maximum[gap] = np.interp(gap, known, maximum[known])
            status[gap] = FILLED
