"""The checks of a whole log as columns, for arithmetic that must not wait for a record each."""

from __future__ import annotations

from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import cached_property
from itertools import count
from operator import attrgetter
from typing import Any, Generic, Protocol, TypeVar, runtime_checkable

from msgspec import Struct

from rearlog.records.fields import BY_NAME
from rearlog.records.log import CohortLog, Observation

T = TypeVar("T")


class Column(Struct, Generic[T], frozen=True):
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


class ObservationColumns:
    """The checks that stand, in the order of writing: one entry a check in every column.

    A column is made when it is first asked for.
    """

    def __init__(self, records: Iterable[Observation]) -> None:
        every = [*records]
        self.places: Sequence[int] = range(len(every))
        """The places of these checks among all observations of the log."""
        marks = [*map(attrgetter("marks"), every)]
        if any(marks):
            self.places = [n for n, each in enumerate(marks) if not each or each[-1].back]
            every = [every[place] for place in self.places]
        self._standing = every
        self._made: dict[str, Column[Any]] = {}

    def __getitem__(self, field: str) -> Column[Any]:
        """The column of a field; unknown values are None. KeyError where there is no such field."""
        if field not in self._made:
            name = BY_NAME[field].name
            self._made[field] = column(map(attrgetter(name), self._standing))
        return self._made[field]

    @cached_property
    def seconds(self) -> Column[float]:
        """When each check was made, in seconds since 1970 (UTC)."""
        return column(map(datetime.timestamp, map(attrgetter("at"), self._standing)))


@runtime_checkable
class InColumns(Protocol):
    """Observations that can give their columns without a record each."""

    @property
    def columns(self) -> ObservationColumns:
        """The columns, struck ones left out."""


def columns_of(log: CohortLog) -> ObservationColumns:
    """The columns of a log's observations."""
    every = log.all_observations
    return every.columns if isinstance(every, InColumns) else ObservationColumns(every)
