"""The checks of a whole log as columns, for arithmetic that must not wait for a record each."""

from __future__ import annotations

from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Generic, Protocol, TypeVar, runtime_checkable

from rearlog.records.log import CohortLog, Observation

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Column(Generic[T]):
    """Values of which many are alike: value i is `distinct[places[i]]`."""

    distinct: tuple[T, ...]
    places: array[int]

    def __iter__(self) -> Iterator[T]:
        return map(self.distinct.__getitem__, self.places)


def column(values: Iterable[T]) -> Column[T]:
    """The column of some values, which must be hashable."""
    known: defaultdict[T, int] = defaultdict(count().__next__)
    places = [*map(known.__getitem__, values)]
    few = len(known) <= 256  # a byte each, which is quicker too
    return Column(tuple(known), array("B", bytes(places)) if few else array("q", places))


@dataclass(frozen=True, slots=True)
class Looks:
    """The checks that stand, in the order of writing: one entry a check in every column.

    `seconds` are seconds since 1970 (UTC). What a column leaves unknown is None. `records` are the
    places of these checks among all observations of the log.
    """

    individual: Column[str]
    seconds: Column[float]
    stage: Column[str | None]
    fate: Column[str | None]
    cause: Column[str | None]
    witnessed: Column[bool]
    head_width_mm: Column[float | None]
    records: Sequence[int]


def looks_of(observations: Iterable[Observation]) -> Looks:
    """The columns of observations, struck ones left out."""
    every = [*observations]
    records = [place for place, each in enumerate(every) if each.struck is None]
    standing = [every[place] for place in records]
    return Looks(
        column(each.individual for each in standing),
        column(each.at.timestamp() for each in standing),
        column(each.stage for each in standing),
        column(each.fate for each in standing),
        column(each.cause for each in standing),
        column(each.witnessed for each in standing),
        column(each.head_width_mm for each in standing),
        records,
    )


@runtime_checkable
class InColumns(Protocol):
    """Observations that can give their columns without a record each."""

    @property
    def looks(self) -> Looks:
        """The columns, struck ones left out."""


def looks_of_log(log: CohortLog) -> Looks:
    """The columns of a log's observations."""
    every = log.all_observations
    return every.looks if isinstance(every, InColumns) else looks_of(every)
