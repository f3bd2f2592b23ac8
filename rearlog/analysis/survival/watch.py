"""How long individuals were watched, and between which ages those that died did."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.stages.events import DEAD, REMOVED, EventHistory
from rearlog.analysis.statistics.turnbull import DECIMALS
from rearlog.records.errors import UsageError


class Watched(Struct, frozen=True, eq=False):
    """What was seen of the lives of n individuals, in days since each came under watch.

    `who` (N,) says who of all N of the cohort they are.
    `days` (n,) to the look that found it dead, or at which it was last known alive and on the way;
    `died` (n,); `arrived` (n,): reached the stage that ended the watch. A death lies in (`low`,
    `high`], both (n,); `high` is inf where none was seen.
    """

    who: Booleans
    days: Floats
    died: Booleans
    arrived: Booleans
    low: Floats
    high: Floats


def watched(history: EventHistory, first: str | None = None, until: str | None = None) -> Watched:
    """For how long each individual was watched, and whether it then died.

    From entry, or from the look that first showed it in `first` or later: before that look it
    could not be found dead in that stage, so that days counted from the molt to the look would be
    immortal ones, and more of them where somebody looks less often. To the death when found, the
    loss (last seen alive), the removal, the look that showed it in `until`, or the last check. Who
    entered the cohort in `until` or later is left out. Raises UsageError for unknown stages.
    """
    refuse_unknown(history, first, until)
    died = history.fate == DEAD
    start = history.entered
    who = np.ones(len(history.codes), dtype=bool)
    if first is not None:
        rank = history.stages.index(first)
        start = np.where(history.entry_rank == rank, start, history.into_high[:, rank])
        who = ~np.isnan(start)
    gone = died | (history.fate == REMOVED)
    end_low = np.where(gone, history.end_low, history.last_alive)
    end_high = history.watched_until
    arrived = np.zeros(len(died), dtype=bool)
    if until is not None:
        goal = history.stages.index(until)
        into = history.into_high[:, goal]
        arrived = ~np.isnan(into)
        end_low, end_high = np.where(arrived, into, end_low), np.where(arrived, into, end_high)
        died = died & ~arrived
        who = who & (history.entry_rank < goal)
    days, low, high = (
        np.maximum(0.0, (each - start)[who]).round(DECIMALS)  # floats would part ages that are one
        for each in (end_high, end_low, np.where(died, end_high, np.inf))
    )
    return Watched(who, days, died[who], arrived[who], low, high)


def until_grown(seen: Watched, history: EventHistory) -> Watched:
    """The same, but for deaths in the last stage: who came into it was watched until it was last
    known alive. What follows of it is of deaths on the way there, whenever adults die.

    `seen` is of that history. Where nobody died in the last stage it is the same.
    """
    last = len(history.stages) - 1
    grown = (history.entry_rank == last) | ~np.isnan(history.into_high[:, last])
    late = seen.died & grown[seen.who]
    return replace(
        seen,
        days=np.where(late, seen.low, seen.days),
        died=seen.died & ~late,
        high=np.where(late, np.inf, seen.high),
    )


def refuse_unknown(history: EventHistory, *asked: str | None) -> None:
    """Raises UsageError for a stage that is not one of the history's; None is no stage."""
    for stage in asked:
        if stage is not None and stage not in history.stages:
            raise UsageError(
                f"there is no stage {stage}", f"the stages are {', '.join(history.stages)}"
            )
