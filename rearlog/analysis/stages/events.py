"""From checks to events: when each individual passed from stage to stage, as intervals.

A daily look does not see an event, it brackets it: the passage into a stage lies after the last
check that showed an earlier stage and no later than the first that showed it or a later one
(interval-censored: Peto 1973, J. R. Stat. Soc. C 22:86–91). Individuals whose looks contradict each
other are settled apart, by the fewest mistakes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.stages.ordered_looks import (
    ALIVE,
    DEAD,
    FATE_NAMES,
    LOST,
    REMOVED,
    OrderedLooks,
    contradicting,
    ordered_looks,
)
from rearlog.records.log import CohortLog

if TYPE_CHECKING:
    from rearlog.analysis.stages.settling import Settled, SettledDoubt

__all__ = (
    "ALIVE",
    "DEAD",
    "FATE_NAMES",
    "LOST",
    "REMOVED",
    "EventHistory",
    "event_history",
)


class EventHistory(Struct, frozen=True, eq=False):
    """What the checks of a cohort say of n individuals and S stages, in days since its zero.

    `into_low[i, s]` and `into_high[i, s]`, shape (n, S), bound the passage of individual i into
    stage s: it lies in (low, high], or is known exactly where they are equal. Both are NaN where
    the passage did not happen, was not seen because the individual entered in or after that
    stage, or where an optional stage was passed over. `entry_rank` and `last_rank` (n,) are the
    places of the first and the last known stage; `last_rank` counts the stage at death. `end_low`
    and `end_high` (n,) bound the fate; a loss has happened some time after `end_low`. `last_alive`
    (n,) is the last day on which it was seen alive, `last_in_stage` that on which it was surely in
    its last known stage, and `last_check` that of the last record.

    Where looks contradict each other, bounds span all that the fewest mistakes leave open, and
    `doubts` are the looks that may be the mistakes. Then `last_in_stage` may be before
    `last_alive`, and whoever may live counts as living (see `settling`). `questionable` are the
    rows of those whose looks contradict each other or pass over a stage: others are in no doubt.
    """

    stages: tuple[str, ...]
    optional: Booleans
    codes: tuple[str, ...]
    entered: Floats
    entry_rank: Integers
    last_rank: Integers
    into_low: Floats
    into_high: Floats
    fate: Integers
    end_low: Floats
    end_high: Floats
    last_alive: Floats
    last_in_stage: Floats
    last_check: Floats
    causes: tuple[str | None, ...]
    doubts: tuple[SettledDoubt, ...] = ()
    questionable: tuple[int, ...] = ()

    @property
    def into(self) -> Floats:
        """Midpoints of the passages, shape (n, S)."""
        return (self.into_low + self.into_high) / 2

    @property
    def watched_until(self) -> Floats:
        """Until when each was watched, shape (n,): to the look that found it dead or the removal,
        or as long as it was known to live."""
        seen = (self.fate == DEAD) | (self.fate == REMOVED)
        return np.where(seen, self.end_high, self.last_alive)

    def reached(self, stage: int) -> Booleans:
        """Who was in this stage or is known to have passed through it, shape (n,)."""
        return np.asarray(~np.isnan(self.into_high[:, stage]) | (self.entry_rank == stage))

    def stages_at(self, rows: Integers, days: Floats) -> tuple[Integers, Integers]:
        """The lowest and the highest stage that individuals were in at given moments, both (k,).

        They differ where looks that contradict each other leave it open, and between looks.
        """
        stage, entry = np.arange(len(self.stages)), self.entry_rank[rows][:, None]
        sure = (self.into_high[rows] <= days[:, None]) | (stage == entry)
        maybe = sure | (self.into_low[rows] < days[:, None])
        last = len(self.stages) - 1
        return last - sure[:, ::-1].argmax(axis=1), last - maybe[:, ::-1].argmax(axis=1)

    def next_stage(self, stage: int) -> Integers:
        """For each individual the next stage that it passed into after `stage`; -1 for none."""
        seen = ~np.isnan(self.into_high[:, stage + 1 :])
        if seen.shape[1] == 0:
            return np.full(len(self.codes), -1)
        return np.where(seen.any(axis=1), seen.argmax(axis=1) + stage + 1, -1)


class StageCount(Struct, frozen=True):
    """How many were last seen alive in a stage."""

    stage: str
    n: int


def event_names(stages: Sequence[str]) -> dict[str, str]:
    """The name of the passage into each stage but the first: hatch, molt, pupation, eclosion."""
    special = {"pupa": "pupation", "adult": "eclosion"}
    names = {stage: special.get(stage, "molt") for stage in stages[1:]}
    if stages[0] == "egg" and len(stages) > 1:
        names[stages[1]] = "hatch"
    return names


def event_history(log: CohortLog) -> EventHistory:
    """Derive the event intervals of every individual from the checks that stand in a log."""
    profile, clock = log.cohort.species, log.cohort.clock
    codes = tuple(each.code for each in log.individuals)
    n, stages = len(codes), len(profile.codes)
    entered = np.array([clock.days(each.entered_at) for each in log.individuals], dtype=float)
    entry_rank = np.array([profile.rank[each.stage] for each in log.individuals], dtype=np.int64)
    looks = ordered_looks(log, entered, entry_rank)
    into_low, into_high = np.full((n, stages), np.nan), np.full((n, stages), np.nan)
    _lay(log, np.flatnonzero(entry_rank == 0), into_low, into_high)
    optional = np.array([stage.optional for stage in profile.stages], dtype=bool)
    known = _pass(looks, optional, into_low, into_high)
    last = np.searchsorted(looks.row, np.arange(n), side="right") - 1
    fate, end = looks.fate[last], looks.day[last]
    alive = np.where(fate == ALIVE, end, looks.day_before[last])
    exact = looks.witnessed[last] | (fate == REMOVED)
    history = EventHistory(
        stages=profile.codes,
        optional=optional,
        codes=codes,
        entered=entered,
        entry_rank=entry_rank,
        last_rank=known[last],
        into_low=into_low,
        into_high=into_high,
        fate=fate,
        end_low=np.where(fate == ALIVE, np.nan, np.where(exact, end, alive)),
        end_high=np.where(fate == ALIVE, np.nan, end),
        last_alive=alive,
        last_in_stage=alive,
        last_check=end,
        causes=tuple(looks.causes[number] for number in looks.cause[last].tolist()),
    )
    contradicted = contradicting(looks, known)
    questionable = {*contradicted.tolist(), *_passing_over(looks, known, optional).tolist()}
    history = replace(history, questionable=tuple(sorted(questionable)))
    return _settled(history, looks, contradicted, log) if len(contradicted) else history


def _settled(
    history: EventHistory, looks: OrderedLooks, rows: Integers, log: CohortLog
) -> EventHistory:
    """The history with the events of those settled whose looks contradict each other."""
    from rearlog.analysis.stages.settling import of_like_length, settle  # start-up time

    doubts: list[tuple[int, SettledDoubt]] = []
    for some in of_like_length(looks, rows):
        settled = settle(looks, some, log.cohort.species, history.optional)
        history = _with(history, settled, log)
        doubts += zip(settled.doubtful.tolist(), _doubts(history, settled, looks, log), strict=True)
    in_order = tuple(each for _, each in sorted(doubts, key=itemgetter(0)))
    return replace(history, doubts=in_order) if doubts else history


def _with(history: EventHistory, settled: Settled, log: CohortLog) -> EventHistory:
    """The history with the events of some individuals settled."""
    rows = settled.rows
    both = [name for name in settled.__struct_fields__ if hasattr(history, name)]
    arrays = {}
    for name in both:
        if name != "causes":
            arrays[name] = getattr(history, name).copy()
            arrays[name][rows] = getattr(settled, name)
    _lay(log, rows[settled.entry_rank == 0], arrays["into_low"], arrays["into_high"])
    causes = [*history.causes]
    for row, cause in zip(rows.tolist(), settled.causes, strict=True):
        causes[row] = cause
    return replace(history, causes=tuple(causes), **arrays)


def _doubts(
    history: EventHistory, settled: Settled, looks: OrderedLooks, log: CohortLog
) -> Iterator[SettledDoubt]:
    """The looks that may be mistakes, by individual and time."""
    from rearlog.analysis.stages.settling import SettledDoubt  # start-up time

    stages = history.stages
    for which, at in enumerate(settled.doubtful.tolist()):
        place, rank, low = looks.place[at], looks.rank[at], settled.low[which]
        record = log.all_observations[looks.columns.places[place]] if place >= 0 else None
        fate = FATE_NAMES[looks.fate[at]]
        yield SettledDoubt(
            individual=history.codes[looks.row[at]],
            number=None if record is None else record.number,
            day=float(looks.day[at]),
            said=fate or stages[rank],
            stages=None if low < 0 else (stages[low], stages[settled.high[which]]),
            fate=FATE_NAMES[settled.over[which]],
            certain=bool(settled.certain[which]),
        )


def _lay(log: CohortLog, eggs: Integers, into_low: Floats, into_high: Floats) -> None:
    """The passage into the first stage is the laying, where it is known."""
    clock = log.cohort.clock
    for row in eggs.tolist():
        each = log.individuals[row]
        if each.laid_by is not None:
            after = each.laid_after or each.laid_by
            into_low[row, 0] = clock.days(after)
            into_high[row, 0] = clock.days(each.laid_by)


def _passing_over(looks: OrderedLooks, known: Integers, optional: Booleans) -> Integers:
    """Who comes into a stage from one that another, which all must pass, lies between."""
    must = np.concatenate(([0], np.cumsum(~optional)))  # how many such stages come before each
    leaps = (looks.row[1:] == looks.row[:-1]) & (must[known[1:]] > must[known[:-1] + 1])
    return np.asarray(looks.row[1:][leaps])


def _pass(looks: OrderedLooks, optional: Booleans, into_low: Floats, into_high: Floats) -> Integers:
    """Write down every passage; returns the stage known after each look, shape (m,)."""
    stages = len(optional)
    # the highest stage so far: each individual starts above all of those before it
    known = np.maximum.accumulate(looks.rank + looks.row * stages) - looks.row * stages
    before = np.concatenate((known[:1], known[:-1]))
    first = np.concatenate(([True], looks.row[1:] != looks.row[:-1]))[: len(known)]
    places = np.flatnonzero(~first & (known > before))
    row, rank, day = looks.row[places], known[places], looks.day[places]
    exact = looks.witnessed[places] & (looks.fate[places] == ALIVE)
    into_low[row, rank] = np.where(exact, day, looks.day_before[places])
    into_high[row, rank] = day
    for place in places[known[places] - before[places] > 1]:  # stages that nobody saw
        between = np.arange(before[place] + 1, known[place])
        between = between[~optional[between]]
        into_low[looks.row[place], between] = looks.day_before[place]
        into_high[looks.row[place], between] = looks.day[place]
    return known
