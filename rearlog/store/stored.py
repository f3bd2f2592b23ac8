"""The observations of a file, made into records only when somebody asks for records.

Most answers need columns. Reading a year of checks into columns takes a fraction of the time that
a record each would take.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import fields
from datetime import datetime
from functools import cached_property
from itertools import compress, repeat
from typing import Any, overload

from rearlog.records.fields import FIELDS, Kind
from rearlog.records.log import Observation
from rearlog.records.looks import Column, Looks, column
from rearlog.store import codec
from rearlog.store.layout import Document, Table, no_collection

_DEFAULTS = {each.name: each.default for each in fields(Observation) if each.name != "number"}
_REQUIRED = {"individual", "at"}
_NO_TEXTS = {each.name for each in FIELDS if each.kind in (Kind.FLAG, Kind.MEASURE)} | {"same"}
_MISSING = object()


class StoredObservations(Sequence[Observation]):
    """Observations that are known to be sound, in the order of their numbers in the file."""

    def __init__(self, numbers: tuple[str, ...], columns: dict[str, Column[Any]]) -> None:
        self._numbers, self._columns = numbers, columns

    @cached_property
    def looks(self) -> Looks:
        """The checks that stand, as columns."""
        at = self._standing("at")
        return Looks(
            self._standing("individual"),
            Column(tuple(map(datetime.timestamp, at.distinct)), at.places),
            self._standing("stage"),
            self._standing("fate"),
            self._standing("cause"),
            self._standing("witnessed"),
            self._standing("head_width_mm"),
            [*compress(range(len(self)), self._stand)] if self._struck else range(len(self)),
        )

    @property
    def _struck(self) -> bool:
        """Whether any is struck out."""
        return "marks" in self._columns

    @property
    def _stand(self) -> Iterator[bool]:
        """Of each whether it stands."""
        return (not marks or marks[-1].back for marks in self._columns["marks"])

    def _standing(self, name: str) -> Column[Any]:
        every = self._columns.get(name) or _alike(_DEFAULTS[name], len(self))
        return column(compress(every, self._stand)) if self._struck else every

    def _record(self, place: int) -> Observation:
        """One record alone, without making all the others."""
        values = {name: each.distinct[each.places[place]] for name, each in self._columns.items()}
        return Observation(number=int(self._numbers[place]), **values)

    @cached_property
    def _records(self) -> tuple[Observation, ...]:
        every: dict[str, Any] = {**self._columns, "number": map(int, self._numbers)}
        rows = [every.get(each.name, repeat(each.default)) for each in fields(Observation)]
        with no_collection():
            return tuple(map(Observation, *rows))

    def __iter__(self) -> Iterator[Observation]:
        return iter(self._records)

    def __len__(self) -> int:
        return len(self._numbers)

    @overload
    def __getitem__(self, place: int) -> Observation: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Observation]: ...
    def __getitem__(self, place: int | slice) -> Observation | Sequence[Observation]:
        if isinstance(place, int) and "_records" not in self.__dict__:
            return self._record(place)
        return self._records[place]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._records == tuple(other)

    __hash__ = None  # type: ignore[assignment]


def _alike(value: Any, count: int) -> Column[Any]:
    """A column of one value."""
    return Column((value,), array("B", bytes(count)))


def stored(table: Table, known: Collection[str]) -> StoredObservations | None:
    """The observations of a table whose every document is sound, read column by column.

    None where something is not as it should be: reading record by record then tells what. `known`
    are the codes of the individuals.
    """
    documents = list(table.values())
    try:
        names = set().union(*documents) | _REQUIRED
        if not (names <= _DEFAULTS.keys() and _numbered(table)):
            return None
        columns = {name: _read(name, documents) for name in names}
    except (AttributeError, KeyError, TypeError, ValueError):
        return None
    if not set(columns["individual"].distinct) <= set(known):
        return None
    return StoredObservations(tuple(table), columns)


def _numbered(table: Table) -> bool:
    """Whether the keys are numbers as this program writes them."""
    return not table or (
        "".join(table).encode().isdigit()
        and min(table) >= "1"  # none is empty, or begins with 0
        and max(map(len, table)) <= codec.LONGEST_NUMBER
    )


def _read(name: str, documents: list[Document]) -> Column[Any]:
    """One field of all documents; raises TypeError or ValueError for what it cannot be."""

    def read(value: Any) -> Any:
        if value is _MISSING and name not in _REQUIRED:
            return _DEFAULTS[name]
        return codec.field(name, value)

    values: Iterable[Any] = map(dict.get, documents, repeat(name), repeat(_MISSING))
    if name == "marks":
        return column(map(read, values))
    if name in _NO_TEXTS:
        values = [*values]
        kinds = set(map(type, values))
        if bool in kinds and not kinds.isdisjoint((int, float)):
            raise TypeError  # true would count as 1
    unread = column(values)
    return Column(tuple(map(read, unread.distinct)), unread.places)
