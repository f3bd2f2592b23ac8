"""When individuals came into each phase, and out of it, in degree-days or days."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.forecasting.future_temperature import TemperatureCourse
from rearlog.analysis.forecasting.phases import Phases
from rearlog.analysis.stages.events import ALIVE, REMOVED, EventHistory


class Passages(Struct, frozen=True, eq=False):
    """n individuals in B phases; amounts are degree-days or days since the temperatures begin.

    `inside` (n, B) marks the phases that each was in. Its entry lies between `entry_low` and
    `entry_high` (n, B; NaN where that is not known), its end between `end_low` and `end_high`
    (n, B): where it has not been seen, from when it was last seen alive to infinity. `now` (n,) is
    the phase it is in (B: the last stage), `to_come` (n,) who still develops, and `entered` (n,)
    the amount when it entered the cohort.
    """

    inside: Booleans
    entry_low: Floats
    entry_high: Floats
    end_low: Floats
    end_high: Floats
    now: Integers
    to_come: Booleans
    entered: Floats

    @property
    def left(self) -> Booleans:
        """Which phases each has left, shape (n, B)."""
        return self.inside & np.isfinite(self.end_high)

    def of(self, rows: Booleans) -> Passages:
        """Those of some individuals alone: of whom `rows` (n,) is true."""
        return Passages(*(getattr(self, name)[rows] for name in self.__struct_fields__))


def passages(history: EventHistory, phases: Phases, course: TemperatureCourse) -> Passages:
    """Count the passages of a cohort in the amounts of its phases.

    Who came before the temperatures have their last gap may be anywhere in the phase it is then in.
    """
    history = _as_if_entered(history, course.begins)
    firsts = [phase.first for phase in phases.phases] + [len(phases.stages) - 1]
    low = course.amount(history.into_low[:, firsts])
    high = course.amount(history.into_high[:, firsts])
    entry_rank = phases.of_stage[history.entry_rank][:, None]
    inside = ~np.isnan(high) | (np.arange(len(firsts)) == entry_rank)
    seen = np.where(history.fate == REMOVED, history.end_high, history.last_in_stage)
    shape = len(history.codes), len(firsts) - 1
    end_low = np.broadcast_to(course.amount(seen)[:, None], shape).copy()
    end_high = np.full(shape, np.inf)
    for place in range(shape[1]):  # the end of a phase is the entry into the next it was in
        later = inside[:, place + 1 :]
        rows = inside[:, place] & later.any(axis=1)
        following = place + 1 + later[rows].argmax(axis=1)
        end_low[rows, place], end_high[rows, place] = low[rows, following], high[rows, following]
    now = phases.of_stage[history.last_rank]
    return Passages(
        inside[:, :-1],
        low[:, :-1],
        high[:, :-1],
        end_low,
        end_high,
        now,
        (history.fate == ALIVE) & (now < shape[1]),
        course.amount(history.entered),
    )


def _as_if_entered(history: EventHistory, day: float) -> EventHistory:
    """The history as if nobody had been known before a day, after which all passages count.

    A passage that may have come before it is not known; who made it enters when it surely had.
    """
    before = history.into_low < day
    stage = np.arange(len(history.stages))
    passed = np.where(before, history.into_high, -np.inf).max(axis=1)
    return replace(
        history,
        entered=np.maximum(np.maximum(history.entered, day), passed),
        entry_rank=np.maximum(history.entry_rank, np.where(before, stage, 0).max(axis=1)),
        into_low=np.where(before, np.nan, history.into_low),
        into_high=np.where(before, np.nan, history.into_high),
    )
