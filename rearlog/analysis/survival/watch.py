"""How long individuals were watched, and between which ages those that died did."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.stages.events import DEAD, REMOVED, EventHistory
from rearlog.analysis.statistics.turnbull import DECIMALS
from rearlog.records.errors import UsageError


@dataclass(frozen=True, eq=False)
class Watched:
    """What was seen of the lives of n individuals: ages in days since each came under watch.

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

    From entry, or from entering `first`, for `days` the middle of its interval; to the death when
    found, the loss (last seen alive), the removal, the look that showed it in `until`, or the last
    check. Who entered the cohort in `until` or later is left out. Raises UsageError for unknown
    stages.
    """
    refuse_unknown(history, first, until)
    died = history.fate == DEAD
    start_low = start_high = history.entered
    who = np.ones(len(history.codes), dtype=bool)
    if first is not None:
        rank = history.stages.index(first)
        # who entered in that stage was under watch from entry on
        here = history.entry_rank == rank
        start_low = np.where(here, history.entered, history.into_low[:, rank])
        start_high = np.where(here, history.entered, history.into_high[:, rank])
        who = ~np.isnan(start_high)
    gone = died | (history.fate == REMOVED)
    end_low = np.where(gone, history.end_low, history.last_alive)
    end_high = np.where(gone, history.end_high, history.last_alive)
    arrived = np.zeros(len(died), dtype=bool)
    if until is not None:
        goal = history.stages.index(until)
        into = history.into_high[:, goal]
        arrived = ~np.isnan(into)
        end_low, end_high = np.where(arrived, into, end_low), np.where(arrived, into, end_high)
        died = died & ~arrived
        who = who & (history.entry_rank < goal)
    days = end_high - (start_low + start_high) / 2
    low, high = end_low - start_high, np.where(died, end_high - start_low, np.inf)
    days, low, high = (
        np.maximum(0.0, each[who]).round(DECIMALS)  # what floats add would part ages that are one
        for each in (days, low, high)
    )
    return Watched(who, days, died[who], arrived[who], low, high)


def refuse_unknown(history: EventHistory, *asked: str | None) -> None:
    """Raises UsageError for a stage that is not one of the history's; None is no stage."""
    for stage in asked:
        if stage is not None and stage not in history.stages:
            raise UsageError(
                f"there is no stage {stage}", f"the stages are {', '.join(history.stages)}"
            )
