"""How many of a cohort were in which stage on each day, and when each stage was reached."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from rearlog.analysis.events import DEAD, LOST, REMOVED, SECONDS_PER_DAY, Development
from rearlog.records.log import Cohort
from rearlog.records.times import midnights


@dataclass(frozen=True, slots=True)
class DayComposition:
    """The cohort as its checks showed it by the end of one day.

    `in_stage` counts the living in each stage, in the order of the profile; the others were
    found dead, found lost or had been removed by then.
    """

    date: date
    in_stage: tuple[int, ...]
    dead: int
    lost: int
    removed: int


@dataclass(frozen=True, slots=True)
class Arrival:
    """When n individuals passed into a stage: first, median and last, at the interval midpoints.

    There is none for the first stage: that is when eggs were laid.
    """

    stage: str
    n: int
    first: datetime
    median: datetime
    last: datetime


@dataclass(frozen=True, slots=True)
class Composition:
    """The composition of a cohort from the day it started to the day of its last check."""

    cohort: str
    species: str
    n: int
    stages: tuple[str, ...]
    days: tuple[DayComposition, ...]
    arrivals: tuple[Arrival, ...]


def composition(cohort: Cohort, development: Development) -> Composition:
    """Count a cohort by stage and fate for each calendar day in its zone.

    An individual counts from its entry on, in the stage in which it was last seen: a molt that
    nobody has looked for has not been seen yet.
    """
    zero = cohort.started
    first = zero.date()
    latest = zero + timedelta(days=float(development.last_check.max(initial=0.0)))
    count = (latest.date() - first).days + 1
    dates = [first + timedelta(days=place) for place in range(count)]
    ends = [
        (midnight.timestamp() - zero.timestamp()) / SECONDS_PER_DAY
        for midnight in midnights(first, count, cohort.zone)[1:]
    ]
    return Composition(
        cohort=cohort.name,
        species=cohort.species.name,
        n=len(development.codes),
        stages=development.stages,
        days=tuple(_by_the_end_of(development, *day) for day in zip(dates, ends, strict=True)),
        arrivals=_arrivals(development, zero),
    )


def _by_the_end_of(development: Development, day: date, end: float) -> DayComposition:
    entered = development.entered < end
    seen = development.into_high < end  # False where the passage is unknown
    later = np.where(seen, np.arange(len(development.stages)), 0).max(axis=1)
    rank = np.maximum(later, development.entry_rank)
    over = entered & (development.end_high < end)
    living = np.bincount(rank[entered & ~over], minlength=len(development.stages))
    dead, lost, removed = (
        int((over & (development.fate == fate)).sum()) for fate in (DEAD, LOST, REMOVED)
    )
    return DayComposition(day, tuple(living.tolist()), dead, lost, removed)


def _arrivals(development: Development, zero: datetime) -> tuple[Arrival, ...]:
    arrivals = []
    for rank, stage in enumerate(development.stages[1:], start=1):
        days = development.into[:, rank]
        days = days[~np.isnan(days)]
        if len(days):
            marks = (days.min(), np.median(days), days.max())
            first, median, last = (zero + timedelta(days=float(day)) for day in marks)
            arrivals.append(Arrival(stage, len(days), first, median, last))
    return tuple(arrivals)
