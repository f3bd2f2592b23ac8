"""From checks to events: when each individual passed from stage to stage, as intervals.

A daily look does not see an event, it brackets it: the passage into a stage lies after the last
check that showed an earlier stage and no later than the first that showed it or a later one
(interval-censored: Peto 1973, J. R. Stat. Soc. C 22:86–91).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.records.clock import CohortClock
from rearlog.records.log import CohortLog, Individual
from rearlog.records.looks import Column, Looks, looks_of_log

ALIVE, DEAD, LOST, REMOVED = range(4)
FATE_NAMES = (None, "dead", "lost", "removed")
_FATE_NUMBER = {name: number for number, name in enumerate(FATE_NAMES)}

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class EventHistory:
    """What the checks of a cohort say of n individuals and S stages, in days since its zero.

    `into_low[i, s]` and `into_high[i, s]`, shape (n, S), bound the passage of individual i into
    stage s: it lies in (low, high], or is known exactly where they are equal. Both are NaN where
    the passage did not happen, was not seen because the individual entered in or after that
    stage, or where an optional stage was passed over. `entry_rank` and `last_rank` (n,) are the
    places of the first and the last known stage; `last_rank` counts the stage at death. `end_low`
    and `end_high` (n,) bound the fate; a loss has happened some time after `end_low`. `last_alive`
    (n,) is the last day on which it was seen alive and `last_check` that of the last record.
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
    last_check: Floats
    causes: tuple[str | None, ...]

    @property
    def into(self) -> Floats:
        """Midpoints of the passages, shape (n, S)."""
        return (self.into_low + self.into_high) / 2

    def reached(self, stage: int) -> Booleans:
        """Who was in this stage or is known to have passed through it, shape (n,)."""
        return np.asarray(~np.isnan(self.into_high[:, stage]) | (self.entry_rank == stage))

    def next_stage(self, stage: int) -> Integers:
        """For each individual the next stage that it passed into after `stage`; -1 for none."""
        seen = ~np.isnan(self.into_high[:, stage + 1 :])
        if seen.shape[1] == 0:
            return np.full(len(self.codes), -1)
        return np.where(seen.any(axis=1), seen.argmax(axis=1) + stage + 1, -1)


@dataclass(frozen=True, slots=True)
class StageCount:
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
    looks = _in_order(looks_of_log(log), codes, profile.rank, entered, entry_rank, clock)
    into_low, into_high = np.full((n, stages), np.nan), np.full((n, stages), np.nan)
    eggs = [(row, each) for row, each in enumerate(log.individuals) if entry_rank[row] == 0]
    _lay(eggs, clock, into_low, into_high)
    optional = np.array([stage.optional for stage in profile.stages], dtype=bool)
    last_rank = _pass(looks, optional, into_low, into_high)
    last = np.searchsorted(looks.row, np.arange(n), side="right") - 1
    fate, end = looks.fate[last], looks.day[last]
    alive = np.where(fate == ALIVE, end, looks.day_before[last])
    exact = looks.witnessed[last] | (fate == REMOVED)
    return EventHistory(
        stages=profile.codes,
        optional=optional,
        codes=codes,
        entered=entered,
        entry_rank=entry_rank,
        last_rank=last_rank[last],
        into_low=into_low,
        into_high=into_high,
        fate=fate,
        end_low=np.where(fate == ALIVE, np.nan, np.where(exact, end, alive)),
        end_high=np.where(fate == ALIVE, np.nan, end),
        last_alive=alive,
        last_check=end,
        causes=tuple(looks.causes[number] for number in looks.cause[last].tolist()),
    )


@dataclass(frozen=True, eq=False)
class _Ordered:
    """All looks by individual and time, each individual's entry being its first; all (m,).

    `row` is the individual, `rank` the stage seen (-1 where none was noted), `day_before` the day
    of the look before, `cause` the place of the cause among `causes`.
    """

    row: Integers
    day: Floats
    day_before: Floats
    rank: Integers
    fate: Integers
    witnessed: Booleans
    cause: Integers
    causes: tuple[str | None, ...]


def _in_order(
    looks: Looks,
    codes: tuple[str, ...],
    ranks: dict[str, int],
    entered: Floats,
    entry_rank: Integers,
    clock: CohortClock,
) -> _Ordered:
    n = len(codes)
    row_of = {code: row for row, code in enumerate(codes)}
    row = np.concatenate((np.arange(n), _numbers(looks.individual, row_of)))
    seconds = np.array(looks.seconds.distinct, dtype=float)[_places(looks.seconds)]
    day = np.concatenate((entered, clock.days_of(seconds)))
    rank = np.concatenate((entry_rank, _numbers(looks.stage, {None: -1, **ranks})))
    fate = np.concatenate((np.full(n, ALIVE), _numbers(looks.fate, _FATE_NUMBER)))
    witnessed = np.concatenate((np.zeros(n), _numbers(looks.witnessed, {False: 0, True: 1})))
    cause = np.concatenate((np.full(n, -1), _places(looks.cause)))
    order = np.lexsort((day, row))  # stable: at one moment, in the order of writing
    day = day[order]
    return _Ordered(
        row=row[order],
        day=day,
        day_before=np.concatenate((day[:1], day[:-1])),
        rank=rank[order],
        fate=fate[order],
        witnessed=witnessed[order] > 0,
        cause=cause[order],
        causes=(*looks.cause.distinct, None),
    )


def _numbers(column: Column[T], numbers: Mapping[T, int]) -> Integers:
    """The numbers that stand for the values of a column."""
    few = np.array([numbers[value] for value in column.distinct], dtype=np.int64)
    return few[_places(column)]


def _places(column: Column[T]) -> Integers:
    return np.asarray(column.places, dtype=np.int64)


def _lay(
    eggs: list[tuple[int, Individual]], clock: CohortClock, into_low: Floats, into_high: Floats
) -> None:
    """The passage into the first stage is the laying, where it is known."""
    for row, each in eggs:
        if each.laid_by is not None:
            after = each.laid_after or each.laid_by
            into_low[row, 0] = clock.days(after)
            into_high[row, 0] = clock.days(each.laid_by)


def _pass(looks: _Ordered, optional: Booleans, into_low: Floats, into_high: Floats) -> Integers:
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
