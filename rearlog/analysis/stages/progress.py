"""The course of each individual from stage to stage, and when the cohort's events are expected."""

from __future__ import annotations

from collections import Counter
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import ALIVE, FATE_NAMES, EventHistory, StageCount, event_names
from rearlog.analysis.stages.expected import Basis, Timing, basis, expectation, expected_days
from rearlog.analysis.statistics.distinct import middle
from rearlog.records.clock import CohortClock
from rearlog.records.fates import Fate
from rearlog.records.log import Cohort

if TYPE_CHECKING:
    from rearlog.analysis.stages.durations import Durations  # start-up time: what is due needs none


class StageSpan(Struct, frozen=True):
    """One stage of one individual, in days since the cohort's zero.

    It begins in (begin_low, begin_high] and ends in (end_low, end_high]; equal bounds are exact.
    The last stage of an individual ends with its fate, or with its last check while it lives.
    `outside`: this stage certainly was shorter or longer than expected.
    """

    stage: str
    begin_low: float
    begin_high: float
    end_low: float
    end_high: float
    outside: Timing | None


class IndividualProgress(Struct, frozen=True):
    """One individual: its stages in order, and its fate (None while it lives)."""

    individual: str
    spans: tuple[StageSpan, ...]
    fate: str | None
    cause: str | None


class Ending(StrEnum):
    """How far individuals have come, in the order in which they are shown."""

    REACHED = "reached"
    DEVELOPING = "developing"
    DIED = "died"
    LOST = "lost"
    REMOVED = "removed"


class Group(Struct, frozen=True):
    """Individuals with one ending, in an order that shows their course."""

    name: Ending
    individuals: tuple[str, ...]


class ExpectedEvent(Struct, frozen=True):
    """When the cohort's passage into `stage` is expected, in days since its zero, and by what.

    `half_came` is when half of those that have come into it had done so, at the midpoints of their
    intervals; None while nobody has.
    """

    event: str
    stage: str
    earliest: float
    latest: float
    rests_on: Basis
    half_came: float | None


class Progress(Answer, frozen=True):
    """The course of a cohort. Days are those of `clock`; `last_check` is the day of the last check.

    `reached` individuals are known to have come into `last_stage`, the first of them by the day
    `first_reached`. `alive` counts the living by stage. `celsius` is the mean temperature (°C)
    until all had grown up (see `watched_celsius`), where known.
    """

    main: ClassVar[str] = "individuals.spans"

    cohort: str
    species: str
    clock: CohortClock
    last_check: float
    stages: tuple[str, ...]
    last_stage: str
    reached: int
    first_reached: float | None
    alive: tuple[StageCount, ...]
    individuals: tuple[IndividualProgress, ...]
    groups: tuple[Group, ...]
    expected: tuple[ExpectedEvent, ...]
    celsius: float | None

    @property
    def last_reached(self) -> float | None:
        """The day by which the last of those had come into the last stage that have."""
        days = (
            span.begin_high
            for each in self.individuals
            for span in each.spans
            if span.stage == self.last_stage
        )
        return max(days, default=None)

    @property
    def outside(self) -> int:
        """How many individuals were outside the expected range in at least one stage."""
        return sum(any(span.outside for span in each.spans) for each in self.individuals)


def progress(
    cohort: Cohort,
    history: EventHistory,
    durations: Durations,
    curve: HeatCurve | None,
    celsius: float | None = None,
) -> Progress:
    """Lay out every individual's stages, and the ranges in which the events are expected.

    `durations` are those of the same development, all stages: they know who is outside the
    expected range. `celsius` is what `watched_celsius` finds.
    """
    outside = {(each.individual, each.stage): each.outside for each in durations.individuals}
    last = len(history.stages) - 1
    arrived = history.reached(last)
    into_last = history.into_high[arrived, last]
    alive = Counter(history.last_rank[history.fate == ALIVE].tolist())
    return Progress(
        cohort=cohort.name,
        species=cohort.species.name,
        clock=cohort.clock,
        last_check=float(history.last_check.max(initial=0.0)),
        stages=history.stages,
        last_stage=history.stages[last],
        reached=int(arrived.sum()),
        first_reached=None if np.isnan(into_last).all() else float(np.nanmin(into_last)),
        alive=tuple(
            StageCount(stage, alive[rank])
            for rank, stage in enumerate(history.stages)
            if alive[rank]
        ),
        individuals=tuple(_individual(history, row, outside) for row in range(len(history.codes))),
        groups=_groups(history),
        expected=expected_events(cohort, history, curve),
        celsius=celsius,
    )


def watched_celsius(history: EventHistory, curve: HeatCurve | None) -> float | None:
    """The mean temperature (°C) from a cohort's zero until all had grown up, where known.

    Whoever has not, counts until the last look at it; how warm adults are kept is left out.
    """
    if curve is None:
        return None
    grown = history.into_high[:, -1]
    came_so = np.where(history.entry_rank == len(history.stages) - 1, 0.0, history.last_check)
    until = np.where(np.isnan(grown), came_so, grown)
    return curve.usual_celsius(0.0, float(until.max(initial=0.0)))


def _individual(
    history: EventHistory, row: int, outside: dict[tuple[str, str], Timing | None]
) -> IndividualProgress:
    entry = int(history.entry_rank[row])
    begin = {entry: (float(history.entered[row]),) * 2}
    for rank in np.flatnonzero(~np.isnan(history.into_high[row])).tolist():
        begin[rank] = history.into_low[row, rank].item(), history.into_high[row, rank].item()
    ranks = sorted(begin)
    ends = [begin[rank] for rank in ranks[1:]] + [_end(history, row)]
    code, stages = history.codes[row], history.stages
    return IndividualProgress(
        individual=code,
        spans=tuple(
            StageSpan(stages[rank], *begin[rank], *end, outside.get((code, stages[rank])))
            for rank, end in zip(ranks, ends, strict=True)
        ),
        fate=FATE_NAMES[history.fate[row]],
        cause=history.causes[row],
    )


def _end(history: EventHistory, row: int) -> tuple[float, float]:
    if history.fate[row] == ALIVE:
        return (float(history.last_alive[row]),) * 2
    return float(history.end_low[row]), float(history.end_high[row])


def _groups(history: EventHistory) -> tuple[Group, ...]:
    """Those who reached the last stage by its day, then by fate: farthest first, then by day."""
    last = len(history.stages) - 1
    arrived = history.reached(last)
    day = np.where(arrived, history.into[:, last], history.last_check)
    order = np.lexsort((np.nan_to_num(day), -history.last_rank))
    names = {
        None: Ending.DEVELOPING,
        Fate.DEAD: Ending.DIED,
        Fate.LOST: Ending.LOST,
        Fate.REMOVED: Ending.REMOVED,
    }
    members: dict[Ending, list[str]] = {name: [] for name in Ending}
    for row in order.tolist():
        name = Ending.REACHED if arrived[row] else names[FATE_NAMES[history.fate[row]]]
        members[name].append(history.codes[row])
    return tuple(Group(name, tuple(codes)) for name, codes in members.items() if codes)


def expected_events(
    cohort: Cohort, history: EventHistory, curve: HeatCurve | None
) -> tuple[ExpectedEvent, ...]:
    """When a cohort's passages are expected, but for molts.

    They count from its median passage into the stage that `counted_from` finds.
    """
    known = counted_from(history)
    if known is None:
        return ()
    first, start = known
    events = []
    for stage, event in event_names(history.stages).items():
        if event == "molt" or history.stages.index(stage) <= first:
            continue
        how = curve.settings if curve else None
        hope = expectation(cohort.species, history.stages[first], stage, how)
        low, high = expected_days(hope, np.array([start]), curve)
        if np.isfinite(low[0] + high[0]):
            earliest, latest = start + float(low[0]), start + float(high[0])
            came = history.into[:, history.stages.index(stage)]
            came = came[~np.isnan(came)]
            half = middle(came) if len(came) else None
            rests_on = basis(hope, start, curve)
            events.append(ExpectedEvent(event, stage, earliest, latest, rests_on, half))
    return tuple(events)


def counted_from(history: EventHistory) -> tuple[int, float] | None:
    """From where on a cohort's passages are expected: the rank of the earliest stage whose start is
    known of at least half of it, but for the last, and the median of these passages (a day)."""
    known = (~np.isnan(history.into)).sum(axis=0) * 2 >= max(1, len(history.codes))
    if not known[:-1].any():
        return None
    first = int(known.argmax())
    into = history.into[:, first]
    return first, middle(into[~np.isnan(into)])
