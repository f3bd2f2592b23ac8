"""How many lived, how long, and what killed the rest: by age, by stage and by cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from enum import StrEnum
from typing import ClassVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.answer import Answer
from rearlog.analysis.stages.events import ALIVE, DEAD, LOST, REMOVED, EventHistory
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, stage_times
from rearlog.analysis.statistics.cumulative_incidence import (
    CENSORED,
    COMPLETED,
    DIED,
    StageMortality,
    stage_mortality,
)
from rearlog.analysis.statistics.interval_median import IntervalMedian, interval_median
from rearlog.analysis.statistics.kaplan_meier import KaplanMeierRow, kaplan_meier
from rearlog.analysis.statistics.life_table import (
    LifeTableRow,
    day_of_age,
    k_value,
    life_table,
)
from rearlog.analysis.statistics.turnbull import DECIMALS, turnbull
from rearlog.analysis.survival.watch import Watched, refuse_unknown, watched
from rearlog.records.errors import UsageError


class StageSurvival(Struct, frozen=True):
    """What became of those who entered a stage, and its mortality.

    `q` is the part that dies in the stage, where who was lost, removed or is still in it counts as
    long as it was watched (see `stage_mortality`). It is None where the last were not watched to
    the end of it: then it lies between `q_least` and `q_most`. `q_low` and `q_high` are 95 % limits
    in either case. `k` = −log10(1 − q), None where q is, or where it is 1 and k infinite; its
    limits are those of q, transformed. The last stage has no completion, so neither q nor k.
    """

    stage: str
    entered: int
    died: int
    lost: int
    removed: int
    in_stage: int
    completed: int
    q: float | None = None
    q_least: float | None = None
    q_most: float | None = None
    q_low: float | None = None
    q_high: float | None = None
    k: float | None = None
    k_low: float | None = None
    k_high: float | None = None


class CauseOfDeath(Struct, frozen=True):
    """How many died in a stage of one cause (None: not noted)."""

    cause: str | None
    stage: str
    deaths: int


class ReachedEnd(Struct, frozen=True):
    """How many of those who began before a stage reached it.

    Of `n` it is known whether they did: `reached` did, the others died before. `waiting` are alive
    and may reach it yet; `gone` were lost or removed before. `fraction` is the part that has
    reached it, where these count as long as they were watched (see `stage_mortality`), `most` what
    that may still become: the same where the last were watched to the end. `low` and `high` are
    95 % limits of what it becomes. All are None where nobody's end is known.
    """

    stage: str
    n: int
    reached: int
    waiting: int
    gone: int
    fraction: float | None
    most: float | None
    low: float | None
    high: float | None

    @property
    def settled(self) -> bool:
        """Whether the part is known but for chance: nobody's end is open."""
        return self.fraction is not None and self.fraction == self.most


class Fates(Struct, frozen=True):
    """What has become of all `n` individuals of a cohort, by its last check."""

    n: int
    dead: int
    lost: int
    removed: int
    alive: int


class DeathsBetween(Struct, frozen=True):
    """The part of all that died after one day and by another, and that still alive then.

    Days as in the watch. When within them the deaths were, no look tells.
    """

    after: float
    by: float
    died: float
    survival: float


class Sex(StrEnum):
    """Of which sex a group of individuals is."""

    FEMALE = "f"
    MALE = "m"
    NOT_KNOWN = "not known"
    """Nobody noted it, or looks contradict each other."""


class Survival(Answer, frozen=True):
    """The survival of a cohort. Ages are days since each individual came under watch.

    `kaplan_meier` and `median_days` date a death when it was found, and are late by some of the
    time between looks. `between_looks` (the NPMLE) and `median` count it as one since the last
    look.

    `K` = −log10 of the part that reached the end (`reached`), its limits those of that part,
    transformed; it is the sum of the k of all stages where nobody was lost and no stage is
    optional. None where the part is not known yet, or is 0 and K infinite.

    `level` is that of the individuals where they are a group of a factor. In the last stage there
    is nothing to reach: then nobody's end is known in `reached`, and K is None.

    Where a span of stages was asked for, `since` is the stage that they had entered (None: from
    the start), and `fates`, which are those of the whole life, are None.
    """

    main: ClassVar[str] = "stage_table"

    cohort: str
    n: int
    deaths: int
    censored: int
    median_days: float | None
    median_low: float | None
    median_high: float | None
    reached: ReachedEnd
    median: IntervalMedian
    kaplan_meier: tuple[KaplanMeierRow, ...]
    between_looks: tuple[DeathsBetween, ...]
    life_table: tuple[LifeTableRow, ...]
    stage_table: tuple[StageSurvival, ...]
    K: float | None
    K_low: float | None
    K_high: float | None
    causes: tuple[CauseOfDeath, ...]
    since: str | None
    fates: Fates | None
    level: str | None = None

    @property
    def of_last_stage(self) -> bool:
        """Whether this is how long those lived that had come into the last stage."""
        return self.since == self.reached.stage


def survival(
    cohort: str,
    history: EventHistory,
    first: str | None = None,
    until: str | None = None,
    *,
    level: str | None = None,
) -> Survival:
    """Survival by age, life table, stage table and causes of death of one cohort.

    Age counts from each individual's entry, or with `first` from the look that first showed it in
    that stage; reaching `until` ends the watch (see `watched`). From the last stage on it is how
    long the adults lived. `level` is that of all in the history. Raises UsageError for unknown
    stages, those that are not in order, and where nobody was in `first`.
    """
    stages = history.stages
    seen = watched_in_order(cohort, history, first, until)
    goal = until or stages[-1]
    estimate = kaplan_meier(seen.days, seen.died)
    chosen = stages[stages.index(first or stages[0]) : stages.index(goal) + (until is None)]
    table = tuple(row for stage in chosen if (row := _stage(history, stage)).entered)
    reached = reached_end(history, first, goal)
    causes = _causes(history, chosen)
    return Survival(
        cohort=cohort,
        n=estimate.n,
        deaths=estimate.deaths,
        censored=estimate.censored,
        median_days=estimate.median_days,
        median_low=estimate.median_low,
        median_high=estimate.median_high,
        reached=reached,
        median=interval_median(seen.low, seen.high),
        kaplan_meier=estimate.rows,
        between_looks=deaths_between(seen),
        life_table=life_table(day_of_age(seen.days), seen.died),
        stage_table=table,
        K=_k(1 - reached.fraction if reached.settled and reached.fraction is not None else None),
        K_low=_k(None if reached.high is None else 1 - reached.high),
        K_high=_k(None if reached.low is None else 1 - reached.low),
        causes=causes,
        since=first,
        fates=_fates(history) if first is None and goal == stages[-1] else None,
        level=level,
    )


def watched_in_order(
    cohort: str, history: EventHistory, first: str | None, until: str | None
) -> Watched:
    """What was watched from `first` to `until`. Raises UsageError as `survival` does."""
    stages = history.stages
    refuse_unknown(history, first, until)
    goal = until or stages[-1]
    lasting = first == stages[-1] and until is None
    if first is not None and stages.index(first) >= stages.index(goal) and not lasting:
        raise UsageError(f"{first} does not come before {goal}")
    seen = watched(history, first, until)
    if len(seen.days) == 0:
        raise UsageError(f"nobody in {cohort} is known to have entered {first or 'it'}")
    return seen


def deaths_between(seen: Watched) -> tuple[DeathsBetween, ...]:
    """The NPMLE of the ages at death, each of which is known between two looks: see `turnbull`."""
    estimate = turnbull(seen.low, seen.high)
    left = 1 - np.cumsum(estimate.mass)
    columns = zip(
        *(each.tolist() for each in (estimate.left, estimate.right, estimate.mass, left)),
        strict=True,
    )
    return tuple(
        DeathsBetween(after, by, died, max(0.0, survival))
        for after, by, died, survival in columns
        if died > 0 and by < np.inf
    )


def _stage(history: EventHistory, stage: str) -> StageSurvival:
    spans: StageTimes = stage_times(history, stage)
    counts = Counter(spans.outcome[spans.entered].tolist())
    row = StageSurvival(
        stage,
        entered=int(spans.entered.sum()),
        died=counts[StageOutcome.DIED],
        lost=counts[StageOutcome.LOST],
        removed=counts[StageOutcome.REMOVED],
        in_stage=counts[StageOutcome.IN_STAGE],
        completed=counts[StageOutcome.COMPLETED] + counts[StageOutcome.START_UNKNOWN],
    )
    if stage == history.stages[-1] or not row.entered:
        return row
    found = _mortality(history, spans)
    q = None if found.waiting else found.died.estimate
    low, high = found.died.low, 1 - found.completed.low
    return replace(
        row,
        q=q,
        q_least=found.died.estimate,
        q_most=min(1.0, found.died.estimate + found.waiting),
        q_low=low,
        q_high=high,
        k=_k(q),
        k_low=_k(low),
        k_high=_k(high),
    )


def _mortality(history: EventHistory, spans: StageTimes) -> StageMortality:
    """Of those who entered a stage, from the look that first showed it to the one that found its
    end."""
    rank = history.stages.index(spans.first)
    seen_in = np.where(history.entry_rank == rank, history.entered, history.into_high[:, rank])
    done = np.isin(spans.outcome, (StageOutcome.COMPLETED, StageOutcome.START_UNKNOWN))
    end = np.where(done, spans.end[:, 1], history.watched_until)
    causes = np.select([done, history.fate == DEAD], [COMPLETED, DIED], CENSORED)
    days = np.maximum(0.0, end - seen_in).round(DECIMALS)
    return stage_mortality(days[spans.entered], causes[spans.entered])


def _k(q: float | None) -> float | None:
    """The killing power of a mortality that is known; the rounding of floats is taken off it."""
    return None if q is None else k_value(min(1.0, max(0.0, round(q, DECIMALS))))


def reached_end(history: EventHistory, first: str | None, goal: str) -> ReachedEnd:
    """How many reached the stage `goal`, of those who entered `first` or the cohort before it;
    nobody where these are one stage. Raises UsageError for unknown stages."""
    if first == goal:
        return ReachedEnd(goal, 0, 0, 0, 0, None, None, None, None)
    seen = watched(history, first, goal)
    alive = history.fate == ALIVE
    known = int((seen.arrived | seen.died).sum())
    reached, open_now = int(seen.arrived.sum()), ~(seen.arrived | seen.died)
    waiting = int((open_now & alive[seen.who]).sum())
    gone = int(open_now.sum()) - waiting
    if known == 0:
        return ReachedEnd(goal, 0, 0, waiting, gone, None, None, None, None)
    causes = np.select([seen.arrived, seen.died], [COMPLETED, DIED], CENSORED)
    found = stage_mortality(seen.days, causes)
    fraction = found.completed.estimate
    return ReachedEnd(
        stage=goal,
        n=known,
        reached=reached,
        waiting=waiting,
        gone=gone,
        fraction=fraction,
        most=min(1.0, fraction + found.waiting),
        low=found.completed.low,
        high=1 - found.died.low,
    )


def _causes(history: EventHistory, stages: Sequence[str]) -> tuple[CauseOfDeath, ...]:
    """Those of each cause together, of which the most died first, in the order of the stages."""
    ranks = [history.stages.index(stage) for stage in stages]
    rows = np.flatnonzero((history.fate == DEAD) & np.isin(history.last_rank, ranks))
    tally = Counter((history.causes[row], int(history.last_rank[row])) for row in rows)
    of_cause = Counter(history.causes[row] for row in rows)

    def place(found: tuple[str | None, int]) -> tuple[int, bool, str, int]:
        cause, rank = found
        return -of_cause[cause], cause is None, cause or "", rank

    return tuple(
        CauseOfDeath(cause, history.stages[rank], tally[cause, rank])
        for cause, rank in sorted(tally, key=place)
    )


def _fates(history: EventHistory) -> Fates:
    dead, lost, removed, alive = (
        int((history.fate == fate).sum()) for fate in (DEAD, LOST, REMOVED, ALIVE)
    )
    return Fates(len(history.codes), dead, lost, removed, alive)
