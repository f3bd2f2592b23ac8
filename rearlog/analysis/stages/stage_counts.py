"""How many of a cohort were in which stage on each day, and when each stage was reached."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer, in_order
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import DEAD, LOST, REMOVED, EventHistory
from rearlog.analysis.stages.progress import ExpectedEvent, expected_events
from rearlog.records.clock import CohortClock
from rearlog.records.log import Cohort

if TYPE_CHECKING:
    from rearlog.frames.typed import TypedTable


class DayCounts(Struct, frozen=True):
    """The cohort as its checks showed it by the end of one day.

    `in_stage` counts the living in each stage, in the order of the profile; the others were
    found dead, found lost or had been removed by then.
    """

    date: date
    in_stage: tuple[int, ...]
    dead: int
    lost: int
    removed: int


class Arrival(Struct, frozen=True):
    """When n individuals passed into a stage: first, median and last, at the interval midpoints.

    `half_seen` is the first day by whose end looks had shown half of them, or more, to have come.
    There is none for the first stage: that is when eggs were laid.
    """

    stage: str
    n: int
    first: datetime
    median: datetime
    last: datetime
    half_seen: date


class StageCounts(Answer, frozen=True):
    """How many of a cohort were in which stage, from its start to the day of its last check.

    `expected` are its passages (but molts) by the profile, in days of `clock`; `celsius` is the
    mean temperature (°C) until all had grown up, where known.
    """

    main: ClassVar[str] = "in_stage"

    cohort: str
    species: str
    n: int
    stages: tuple[str, ...]
    days: tuple[DayCounts, ...]
    arrivals: tuple[Arrival, ...]
    clock: CohortClock
    expected: tuple[ExpectedEvent, ...]
    celsius: float | None

    def tables(self) -> dict[str, TypedTable]:
        """Those of its fields, and first how many were in which stage on each day: `in_stage`."""
        rows = tuple(
            StageOnDay(day.date, stage, n)
            for day in self.days
            for stage, n in zip(self.stages, day.in_stage, strict=True)
        )
        counted = in_order(StagesByDay(self.cohort, rows), self.stages)
        return {"in_stage": counted.tables()["in_stage"], **Answer.tables(self)}


class StageOnDay(Struct, frozen=True):
    """How many of the living were in a stage by the end of a day."""

    date: date
    stage: str
    n: int


class StagesByDay(Answer, frozen=True):
    """The counts of a cohort as rows: `in_stage` has one for each day and stage."""

    cohort: str
    in_stage: tuple[StageOnDay, ...]


def stage_counts(
    cohort: Cohort,
    history: EventHistory,
    curve: HeatCurve | None = None,
    celsius: float | None = None,
) -> StageCounts:
    """Count a cohort by stage and fate for each calendar day in its zone.

    An individual counts from its entry on, in the stage in which it was last seen: a molt that
    nobody has looked for has not been seen yet. `celsius` is what `watched_celsius` finds.
    """
    clock = cohort.clock
    first = clock.day_after(0.0)
    latest = clock.day_after(float(history.last_check.max(initial=0.0)))
    count = (latest - first).days + 1
    dates = [first + timedelta(days=place) for place in range(count)]
    ends = clock.midnights(first, count)[1:]
    return StageCounts(
        cohort=cohort.name,
        species=cohort.species.name,
        n=len(history.codes),
        stages=history.stages,
        days=tuple(_by_the_end_of(history, *day) for day in zip(dates, ends, strict=True)),
        arrivals=_arrivals(history, clock, dates, ends),
        clock=clock,
        expected=expected_events(cohort, history, curve),
        celsius=celsius,
    )


def _by_the_end_of(history: EventHistory, day: date, end: float) -> DayCounts:
    entered = history.entered < end
    seen = history.into_high < end  # False where the passage is unknown
    later = np.where(seen, np.arange(len(history.stages)), 0).max(axis=1)
    rank = np.maximum(later, history.entry_rank)
    over = entered & (history.end_high < end)
    living = np.bincount(rank[entered & ~over], minlength=len(history.stages))
    dead, lost, removed = (
        int((over & (history.fate == fate)).sum()) for fate in (DEAD, LOST, REMOVED)
    )
    return DayCounts(day, tuple(living.tolist()), dead, lost, removed)


def _arrivals(
    history: EventHistory, clock: CohortClock, dates: Sequence[date], ends: Sequence[float]
) -> tuple[Arrival, ...]:
    arrivals = []
    for rank, stage in enumerate(history.stages[1:], start=1):
        days = history.into[:, rank]
        days = days[~np.isnan(days)]
        if len(days):
            marks = (days.min(), np.median(days), days.max())
            first, median, last = (clock.instant(float(day)) for day in marks)
            half = np.sort(history.into_high[:, rank])[(len(days) - 1) // 2]  # NaN are sorted last
            day = dates[int(np.searchsorted(ends, half, side="right"))]
            arrivals.append(Arrival(stage, len(days), first, median, last, day))
    return tuple(arrivals)
