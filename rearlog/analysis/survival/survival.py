"""How many lived, how long, and what killed the rest: by age, by stage and by cause."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from rearlog.analysis.stages.events import ALIVE, DEAD, LOST, REMOVED, EventHistory
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, stage_times
from rearlog.analysis.statistics.kaplan_meier import KaplanMeierRow, kaplan_meier
from rearlog.analysis.statistics.life_table import (
    LifeTableRow,
    day_of_age,
    k_value,
    life_table,
    wilson,
)
from rearlog.analysis.survival.watch import refuse_unknown, watched
from rearlog.records.errors import UsageError


@dataclass(frozen=True, slots=True)
class StageSurvival:
    """What became of those who entered a stage.

    `q` = died / (died + completed), with Wilson's 95 % limits; `k` = −log10(1 − q), None where
    nobody survived. The last stage has no completion, so no q.
    """

    stage: str
    entered: int
    died: int
    lost: int
    removed: int
    in_stage: int
    completed: int
    q: float | None
    q_low: float | None
    q_high: float | None
    k: float | None


@dataclass(frozen=True, slots=True)
class CauseOfDeath:
    """How many died in a stage of one cause (None: not noted)."""

    cause: str | None
    stage: str
    deaths: int


@dataclass(frozen=True, slots=True)
class ReachedEnd:
    """How many of those whose outcome is known reached a stage, with Wilson's 95 % limits.

    `waiting` are alive and may reach it yet.
    """

    stage: str
    n: int
    reached: int
    waiting: int
    fraction: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Fates:
    """What has become of all `n` individuals of a cohort, by its last check."""

    n: int
    dead: int
    lost: int
    removed: int
    alive: int


@dataclass(frozen=True, slots=True)
class Survival:
    """The survival of a cohort. Ages are days since each individual's start; K is the sum of k.

    Where a span of stages was asked for, `since` is the stage that they had entered (None: from
    the start), and `fates`, which are those of the whole life, are None.
    """

    cohort: str
    n: int
    deaths: int
    censored: int
    median_days: float | None
    median_low: float | None
    median_high: float | None
    reached: ReachedEnd
    kaplan_meier: tuple[KaplanMeierRow, ...]
    life_table: tuple[LifeTableRow, ...]
    stage_table: tuple[StageSurvival, ...]
    K: float | None
    causes: tuple[CauseOfDeath, ...]
    since: str | None
    fates: Fates | None


def survival(
    cohort: str, history: EventHistory, first: str | None = None, until: str | None = None
) -> Survival:
    """Kaplan–Meier, life table, stage table and causes of death of one cohort.

    Age counts from each individual's entry, or with `first` from entering that stage; reaching
    `until` ends the watch. A death counts on the day it was found. Raises UsageError for unknown
    stages and where nobody was in `first`.
    """
    stages = history.stages
    refuse_unknown(history, first, until)
    goal = until or stages[-1]
    if first is not None and stages.index(first) >= stages.index(goal):
        raise UsageError(f"{first} does not come before {goal}")
    seen = watched(history, first, until)
    if len(seen.days) == 0:
        raise UsageError(f"nobody in {cohort} is known to have entered {first or 'it'}")
    estimate = kaplan_meier(seen.days, seen.died)
    chosen = stages[stages.index(first or stages[0]) : stages.index(goal) + (until is None)]
    table = tuple(row for stage in chosen if (row := _stage(history, stage)).entered)
    reached = _reached(history, first, goal)
    causes = _causes(history, set(chosen))
    ks = [row.k for row in table if row.q is not None]
    return Survival(
        cohort=cohort,
        n=estimate.n,
        deaths=estimate.deaths,
        censored=estimate.censored,
        median_days=estimate.median_days,
        median_low=estimate.median_low,
        median_high=estimate.median_high,
        reached=reached,
        kaplan_meier=estimate.rows,
        life_table=life_table(day_of_age(seen.days), seen.died),
        stage_table=table,
        K=None if None in ks else float(sum(k for k in ks if k is not None)),
        causes=causes,
        since=first,
        fates=_fates(history) if first is None and goal == stages[-1] else None,
    )


def _stage(history: EventHistory, stage: str) -> StageSurvival:
    spans: StageTimes = stage_times(history, stage)
    counts = Counter(spans.outcome[spans.entered].tolist())
    died = counts[StageOutcome.DIED]
    completed = counts[StageOutcome.COMPLETED] + counts[StageOutcome.START_UNKNOWN]
    known = died + completed
    last = stage == history.stages[-1]
    q = None if last or known == 0 else died / known
    limits = wilson(died, known) if q is not None else None
    low, high = limits or (None, None)
    return StageSurvival(
        stage,
        int(spans.entered.sum()),
        died,
        counts[StageOutcome.LOST],
        counts[StageOutcome.REMOVED],
        counts[StageOutcome.IN_STAGE],
        completed,
        q,
        low,
        high,
        None if q is None else k_value(q),
    )


def _reached(history: EventHistory, first: str | None, goal: str) -> ReachedEnd:
    rank = history.stages.index(goal)
    arrived = history.reached(rank)
    known = arrived | (history.fate == DEAD)
    waiting = ~arrived & (history.fate == ALIVE)
    if first is not None:
        began = history.reached(history.stages.index(first))
        known, waiting = known & began, waiting & began
    n, reached = int(known.sum()), int((arrived & known).sum())
    low, high = wilson(reached, n) or (None, None)
    part = reached / n if n else None
    return ReachedEnd(goal, n, reached, int(waiting.sum()), part, low, high)


def _causes(history: EventHistory, stages: set[str]) -> tuple[CauseOfDeath, ...]:
    tally = Counter(
        (history.causes[row], history.stages[history.last_rank[row]])
        for row in np.flatnonzero(history.fate == DEAD)
    )
    return tuple(
        CauseOfDeath(cause, stage, deaths)
        for (cause, stage), deaths in sorted(
            tally.items(), key=lambda item: (-item[1], str(item[0][0]), item[0][1])
        )
        if stage in stages
    )


def _fates(history: EventHistory) -> Fates:
    dead, lost, removed, alive = (
        int((history.fate == fate).sum()) for fate in (DEAD, LOST, REMOVED, ALIVE)
    )
    return Fates(len(history.codes), dead, lost, removed, alive)
