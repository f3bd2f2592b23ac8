"""What an individual went through, where looks contradict each other: the fewest mistakes.

A path says in which stage an individual was at each moment, and with which look it ended, if it
did. It only goes forward, and after its end nothing happens. Each thing that was said counts what
it weighs where the path contradicts it; the best paths contradict the least. What all best paths
have in common is known; where they differ, nothing more is claimed than what holds in each.

Method: the shortest path through the moments (Bellman 1957, Dynamic Programming; with 0 and 1 as
costs this is isotonic regression on a finite scale by the fewest changed values), all individuals
at once, in time linear in the moments.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers

CALL = 2
"""What a call of a stage weighs, or that it was found dead or taken out: a single mistake."""
NOT_FOUND = 1
"""“Lost” says that it was not seen; who sees it, knows more."""
HEAD_WIDTH = 2
"""A head width that surely fits one instar is a call of that instar of its own, beside what was
said: it doubles the weight of a call that it agrees with, and of a “no change”."""
PASSAGE_SEEN = 4
"""That the passage itself (or the end) was seen, beside the call of the stage: nobody takes an old
animal for one that is just molting. It also says that there was another stage before."""

_NEVER = 1 << 40
"""More than anything weighs."""


class Statements(Struct, frozen=True, eq=False, dict=True):
    """What was said of n individuals at up to m moments each, and what contradicting it weighs.

    After an individual's last moment there are moments at which nothing is said and `follows`.

    - `first_day`, `last_day` (n, m): the days of a moment; at first is the entry. Looks that say
      the same make one moment: no best path needs a passage among them.
    - `stage` (n, m, S): the weight of what an individual in each stage contradicts.
    - `alive` (n, m): what being alive contradicts; `over` (n, m, F): what having ended with each
      fate, then or before, contradicts.
    - `ends` (n, m, F): whether a look of that moment says this fate; `stage_at_end` (n, m, F, S):
      what ending in each stage contradicts of the stage that this look names; `names_stage`
      (n, m, F): whether it names one.
    - `passage` (n, m, S): the weight of having been in each stage before, where the passage into
      it was seen.
    - `follows` (n, m): nothing but “no change” was said: the stage is that of the moment before.
    - `seen_alive` (n, m): somebody saw it alive. `exact_end` (n, m, F): the end itself was seen.
    """

    first_day: Floats
    last_day: Floats
    stage: Integers
    alive: Integers
    over: Integers
    ends: Booleans
    stage_at_end: Integers
    names_stage: Booleans
    passage: Integers
    follows: Booleans
    seen_alive: Booleans
    exact_end: Booleans

    @cached_property
    def over_from(self) -> Integers:
        """What having ended contradicts at a moment and all after it, (n, m, F)."""
        return np.cumsum(self.over[:, ::-1], axis=1)[:, ::-1]


class BestPaths(Struct, frozen=True, eq=False, dict=True):
    """What the best paths of n individuals have in common, at m moments, S stages, F fates.

    - `in_stage` (n, m, S): in a best path it was alive in this stage at this moment.
    - `arrived`, `stayed` (n, m, S): in a best path a passage led into this stage, alive; or it was
      in it at the moment before.
    - `ended` (n, m, F, S): a best path ends at this moment, with this fate, in this stage.
    - `into_low`, `into_high` (n, S): the bounds of the passages into a stage or one beyond it, over
      all best paths that have one; inf and -inf where none has.
    - `cost` (n,): what the best paths contradict.
    """

    in_stage: Booleans
    arrived: Booleans
    stayed: Booleans
    ended: Booleans
    into_low: Floats
    into_high: Floats
    cost: Integers

    @cached_property
    def over(self) -> Booleans:
        """In a best path it had ended at this moment, or before, with this fate: (n, m, F)."""
        return np.asarray(np.maximum.accumulate(self.ended.any(axis=3), axis=1))

    @cached_property
    def maybe_alive(self) -> Booleans:
        """In a best path it was alive at this moment, (n, m)."""
        return np.asarray(self.in_stage.any(axis=2))


def best_paths(said: Statements) -> BestPaths:
    """All paths that contradict the least, put together."""
    n, moments, stages = said.stage.shape
    rest = _still_to_come(said)
    so_far = said.stage[:, 0]  # entries say that they live
    cost = (so_far + rest[:, 0]).min(axis=1)
    in_stage = np.zeros((n, moments, stages), dtype=bool)
    in_stage[:, 0] = so_far + rest[:, 0] == cost[:, None]
    arrived, stayed = np.zeros((2, n, moments, stages), dtype=bool)
    level = np.arange(stages)
    ended = np.zeros((*said.ends.shape, stages), dtype=bool)
    low, high = np.full((n, stages), np.inf), np.full((n, stages), -np.inf)
    for now in range(1, moments):
        day, before = said.first_day[:, now], said.last_day[:, now - 1]
        crossed = np.zeros((n, stages), dtype=bool)
        for fate, rows in _endings(said, now):
            taken = so_far[rows, :, None] + _end(said, now, fate, rows) == cost[rows, None, None]
            ended[rows, now, fate] = taken.any(axis=1)
            crossed[rows] |= _crossed(taken)
        reached = so_far[:, :, None] + _step(said, now)
        so_far = reached.min(axis=1)
        taken = reached + rest[:, now, None, :] == cost[:, None, None]
        in_stage[:, now] = taken.any(axis=1)
        stayed[:, now] = taken[:, level, level]
        taken &= _rises(stages)
        arrived[:, now] = taken.any(axis=1)
        exactly = arrived[:, now] & (said.passage[:, now] > 0)
        if exactly.any():
            taken = _up_to_those_seen(taken, exactly)
        _widen(low, high, crossed | _crossed(taken), before, day)
        _widen(low, high, exactly, day, day)
    return BestPaths(in_stage, arrived, stayed, ended, low, high, cost)


def _still_to_come(said: Statements) -> Integers:
    """The least that is contradicted after each moment, being alive in each stage, (n, m, S)."""
    rest = np.zeros(said.stage.shape, dtype=np.int64)
    for now in range(said.stage.shape[1] - 1, 0, -1):
        rest[:, now - 1] = (_step(said, now) + rest[:, now, None, :]).min(axis=2)
        for fate, rows in _endings(said, now):
            out = _end(said, now, fate, rows).min(axis=2)
            rest[rows, now - 1] = np.minimum(rest[rows, now - 1], out)
    return rest


def _step(said: Statements, now: int) -> Integers:
    """What going on from each stage to each, alive, contradicts at a moment, (n, S, S)."""
    here = said.stage[:, now] + said.alive[:, now, None]
    step = np.where(_rises(here.shape[1]), here[:, None, :], _NEVER)
    step[said.follows[:, now]] = _NEVER
    level = np.arange(here.shape[1])
    step[:, level, level] = here + said.passage[:, now]
    return step


def _endings(said: Statements, now: int) -> Iterator[tuple[int, Integers]]:
    """The fates that were said at a moment, and of whom."""
    for fate in range(said.ends.shape[2]):
        rows = np.flatnonzero(said.ends[:, now, fate])
        if len(rows):
            yield fate, rows


def _end(said: Statements, now: int, fate: int, rows: Integers) -> Integers:
    """What ending at a moment, from each stage in each, contradicts, (rows, S, S): then and after.

    Only a look that names the stage can show that it was a later one.
    """
    weight = said.over_from[rows, now, fate, None] + said.stage_at_end[rows, now, fate]
    named = said.names_stage[rows, now, fate, None, None]
    stages = weight.shape[1]
    step = np.where(_rises(stages) & named, weight[:, None, :], _NEVER)
    level = np.arange(stages)
    step[:, level, level] = weight
    return step


def _rises(stages: int) -> Booleans:
    """The steps that lead into a later stage, (S, S)."""
    return np.triu(np.ones((stages, stages), dtype=bool), 1)


def _crossed(taken: Booleans) -> Booleans:
    """Into which stages, or beyond them, some of the steps lead from before them: (n, S)."""
    crossed = np.zeros(taken.shape[:2], dtype=bool)
    below = np.maximum.accumulate(taken & _rises(taken.shape[1]), axis=1)
    beyond = np.maximum.accumulate(below[:, :, ::-1], axis=2)[:, :, ::-1]
    place = np.arange(1, taken.shape[1])
    crossed[:, 1:] = beyond[:, place - 1, place]
    return crossed


def _up_to_those_seen(taken: Booleans, exactly: Booleans) -> Booleans:
    """The steps, but only as far as before the passages that were seen: (n, S, S).

    Of the boundaries that a step crosses, only the last was seen.
    """
    seen = taken & exactly[:, None, :]
    shorter = taken & ~seen
    shorter[:, :, :-1] |= seen[:, :, 1:]
    return shorter


def _widen(low: Floats, high: Floats, passed: Booleans, after: Floats, by: Floats) -> None:
    """Widen the bounds of those who passed."""
    np.minimum(low, after[:, None], out=low, where=passed)
    np.maximum(high, by[:, None], out=high, where=passed)
