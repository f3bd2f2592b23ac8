"""The time that individuals spent from entering one stage to entering another, as bounds.

Both ends lie between two checks: doubly censored (De Gruttola and Lagakos 1989, Biometrics
45:1–11).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import DEAD, LOST, REMOVED, EventHistory
from rearlog.analysis.statistics.interval_median import IntervalMedian, interval_median
from rearlog.analysis.statistics.turnbull import Turnbull, turnbull
from rearlog.records.errors import UsageError


class StageOutcome(StrEnum):
    """What became of an individual in a stage, or in a span of several."""

    COMPLETED = "completed"
    IN_STAGE = "in stage"
    DIED = "died"
    LOST = "lost"
    REMOVED = "removed"
    START_UNKNOWN = "start unknown"


_OF_FATE = {
    DEAD: StageOutcome.DIED,
    LOST: StageOutcome.LOST,
    REMOVED: StageOutcome.REMOVED,
}


class StageTimes(Struct, frozen=True, eq=False):
    """The time from entering `first` to entering `until`, for n individuals, in days since zero.

    `start` and `end` (n, 2) are the bounds of both passages; an end that has not been seen is
    (last seen alive, inf). `from_laying`: the start is the laying, which nobody looked for.
    `entered` (n,) says who was in `first` at all; `outcome` (n,) what became of it.
    """

    first: str
    until: str
    codes: tuple[str, ...]
    entered: Booleans
    start: Floats
    end: Floats
    from_laying: bool
    outcome: npt.NDArray[np.str_]

    @property
    def start_known(self) -> Booleans:
        """Who was in `first` and began it at a time that is known, shape (n,)."""
        return np.asarray(self.entered & ~np.isnan(self.start[:, 0]))

    @property
    def low(self) -> Floats:
        """The least number of days that it can have been, shape (n,)."""
        return np.asarray(np.maximum(0.0, self.end[:, 0] - self.start[:, 1]))

    @property
    def high(self) -> Floats:
        """The most days that it can have been, shape (n,); inf where it was not over."""
        return np.asarray(self.end[:, 1] - self.start[:, 0])

    @property
    def midpoint(self) -> Floats:
        """The difference of the midpoints of the two passages, shape (n,); inf where not over."""
        return np.asarray(self.end.mean(axis=1) - self.start.mean(axis=1))

    @property
    def looked_for(self) -> tuple[Floats, ...]:
        """The bounds of the passages that checks found, each (n, 2). The laying is none of them:
        eggs are taken to be laid all through the time that is given for it."""
        return (self.end,) if self.from_laying else (self.start, self.end)

    def spent(self, who: Booleans) -> tuple[Floats, Floats]:
        """From when to when those `who` (n,) completed it were in it, both (m,): the middles of the
        passages. Who passed through between two checks was somewhere in the time between them."""
        start, end = self.start[who].mean(axis=1), self.end[who].mean(axis=1)
        seen = end > start
        return np.where(seen, start, self.start[who, 0]), np.where(seen, end, self.end[who, 1])

    def which(self, outcome: StageOutcome) -> Booleans:
        """Who had this outcome, shape (n,)."""
        return np.asarray(self.entered & (self.outcome == outcome))


def stage_times(history: EventHistory, first: str, until: str | None = None) -> StageTimes:
    """The time each individual spent from entering `first` to entering `until`.

    Without `until`, the stage `first` alone: until whichever stage came next. Method: boundaries
    bracketed by checks, low = max(0, a2 − b1), high = b2 − a1.
    """
    rank = history.stages.index(first)
    reached = history.reached(rank)
    start = np.column_stack((history.into_low[:, rank], history.into_high[:, rank]))
    n = len(history.codes)
    if until is None:
        following = history.next_stage(rank)
    else:
        goal = history.stages.index(until)
        following = np.where(~np.isnan(history.into_high[:, goal]), goal, -1)
    done = following != -1
    rows = np.arange(n)
    end = np.column_stack((history.last_in_stage, np.full(n, np.inf)))
    end[done, 0] = history.into_low[rows[done], following[done]]
    end[done, 1] = history.into_high[rows[done], following[done]]
    removed = ~done & (history.fate == REMOVED)
    end[removed, 0] = history.end_high[removed]
    outcome = np.full(n, StageOutcome.IN_STAGE, dtype="<U13")
    for fate, word in _OF_FATE.items():
        outcome[history.fate == fate] = word
    outcome[done] = StageOutcome.COMPLETED
    outcome[done & np.isnan(start[:, 0])] = StageOutcome.START_UNKNOWN
    return StageTimes(
        first=first,
        until=until or _next(history, rank),
        codes=history.codes,
        entered=reached,
        start=start,
        end=end,
        from_laying=rank == 0,
        outcome=outcome,
    )


def _next(history: EventHistory, rank: int) -> str:
    after = history.stages[rank + 1 :]
    needed = [
        code
        for code, optional in zip(after, history.optional[rank + 1 :], strict=True)
        if not optional
    ]
    return needed[0] if needed else history.stages[rank]


def stage_times_of(
    history: EventHistory, first: str | None = None, until: str | None = None
) -> tuple[StageTimes, ...]:
    """Every stage that has an end, or the one span that is asked for.

    Raises UsageError for stages that are not in the profile or not in order.
    """
    stages = history.stages
    if first is None and until is None:
        return tuple(stage_times(history, stage) for stage in stages[:-1])
    first, until = first or stages[0], until or stages[-1]
    for stage in (first, until):
        if stage not in stages:
            raise UsageError(f"there is no stage {stage}", f"the stages are {', '.join(stages)}")
    if stages.index(first) >= stages.index(until):
        raise UsageError(f"{first} does not come before {until}")
    return (stage_times(history, first, until),)


def completed(
    spans: StageTimes, curve: HeatCurve | None = None
) -> tuple[Floats, list[Floats], Integers]:
    """What those that completed it took, the passages that were looked for (see `checked_mean`),
    and who they are.

    Values (m,) by midpoints, bounds (m, 2), and places (m,) among all: days, or with a heat curve
    degree-days, of those for whom they are known.
    """
    over = np.flatnonzero(spans.which(StageOutcome.COMPLETED))
    bounds = [each[over] for each in spans.looked_for]
    if curve is None:
        return spans.midpoint[over], bounds, over
    values = curve.between(spans.start[over].mean(axis=1), spans.end[over].mean(axis=1))
    known = ~np.isnan(values)
    return values[known], [curve.at(each[known]) for each in bounds], over[known]


def seen_of_everybody(spans: StageTimes) -> tuple[Floats, Floats]:
    """What was seen of the durations of those whose start is known, each (m,), in days.

    Each individual contributes the interval (low, high] of its own duration, or (low, ∞) where
    death, loss, removal or the present ended the watch.
    """
    return spans.low[spans.start_known], spans.high[spans.start_known]


def npmle(spans: StageTimes) -> Turnbull | None:
    """The NPMLE of the duration's distribution; None where nobody's start is known."""
    low, high = seen_of_everybody(spans)
    return turnbull(low, high) if low.size else None


def median_of(spans: StageTimes) -> IntervalMedian | None:
    """Where median and quartiles of the duration lie; None where nobody's start is known."""
    low, high = seen_of_everybody(spans)
    return interval_median(low, high) if low.size else None
