"""The looks of a whole log in order, as arrays: what the derivation of events starts from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.statistics.distinct import distinct
from rearlog.records.columns import Column, ObservationColumns, columns_of
from rearlog.records.fates import FATES
from rearlog.records.log import CohortLog

ALIVE, DEAD, LOST, REMOVED = range(4)
FATE_NAMES = (None, *FATES)
_FATE_NUMBER = {name: number for number, name in enumerate(FATE_NAMES)}

T = TypeVar("T")


class OrderedLooks(Struct, frozen=True, eq=False):
    """All looks by individual and time, each individual's entry being its first; all (m,).

    `row` is the individual, `day` days since the cohort's zero, `rank` the stage said (-1 where
    none was: “no change”, or only a fate), `day_before` the day of the look before, `cause` the
    place of the cause among `causes`. `place` is the place of the look among those that stand, in
    the order of writing, of which these are the `columns`; negative for entries.
    """

    row: Integers
    day: Floats
    day_before: Floats
    rank: Integers
    fate: Integers
    witnessed: Booleans
    cause: Integers
    causes: tuple[str | None, ...]
    place: Integers
    columns: ObservationColumns


def ordered_looks(log: CohortLog, entered: Floats, entry_rank: Integers) -> OrderedLooks:
    """The looks of a log that stand, behind the entries of its n individuals (both arrays (n,))."""
    looks = columns_of(log)
    n, ranks = len(log.individuals), log.cohort.species.rank
    row_of = {each.code: row for row, each in enumerate(log.individuals)}
    row = np.concatenate((np.arange(n), _numbers(looks["individual"], row_of)))
    seconds = np.array(looks.seconds.distinct, dtype=float)[_places(looks.seconds)]
    day = np.concatenate((entered, log.cohort.clock.days_of(seconds)))
    rank = np.concatenate((entry_rank, _numbers(looks["stage"], {None: -1, **ranks})))
    fate = np.concatenate((np.full(n, ALIVE), _numbers(looks["fate"], _FATE_NUMBER)))
    witnessed = np.concatenate((np.zeros(n), _numbers(looks["witnessed"], {False: 0, True: 1})))
    cause = np.concatenate((np.full(n, -1), _places(looks["cause"])))
    order = np.lexsort((day, row))  # stable: at one moment, in the order of writing
    day = day[order]
    return OrderedLooks(
        row=row[order],
        day=day,
        day_before=np.concatenate((day[:1], day[:-1])),
        rank=rank[order],
        fate=fate[order],
        witnessed=witnessed[order] > 0,
        cause=cause[order],
        causes=(*looks["cause"].distinct, None),
        place=order - n,
        columns=looks,
    )


def _numbers(column: Column[T], numbers: Mapping[T, int]) -> Integers:
    """The numbers that stand for the values of a column."""
    few = np.array([numbers[value] for value in column.distinct], dtype=np.int64)
    return few[_places(column)]


def _places(column: Column[T]) -> Integers:
    return np.asarray(column.places, dtype=np.int64)


def contradicting(looks: OrderedLooks, known: Integers) -> Integers:
    """Which individuals have looks that contradict each other, or several at one moment.

    `known` (m,) is the highest stage said until each look.
    """
    back = np.flatnonzero(looks.rank < known)
    back = back[looks.rank[back] >= 0]
    together = np.flatnonzero(looks.day[1:] == looks.day[:-1])
    together = together[looks.place[together] >= 0]  # the entry stands for itself
    before = np.concatenate((np.flatnonzero(looks.fate[:-1] != ALIVE), together))
    before = before[looks.row[before] == looks.row[before + 1]]
    return distinct(np.concatenate((looks.row[back], looks.row[before])))
