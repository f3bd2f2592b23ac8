"""The observations of a file, made into records only when somebody asks for records.

Most answers need columns. Reading a year of checks into columns takes a fraction of the time that
a record each would take.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from functools import cached_property
from itertools import compress, repeat
from math import isfinite
from operator import itemgetter
from types import NoneType
from typing import Any, overload

from rearlog.records.log import Observation
from rearlog.records.looks import Looks
from rearlog.store import codec
from rearlog.store.layout import Document, Table, no_collection

_TEXTS = ("stage", "fate", "cause", "sex", "by", "note")
_NUMBERS = ("length_mm", "head_width_mm", "mass_mg")
_MOMENTS = ("at", "entered")
_KNOWN = {"individual", *_TEXTS, *_NUMBERS, *_MOMENTS, "witnessed", "struck"}

Columns = dict[str, list[Any]]
"""For each field that occurs, its value in every document; None where a document has none."""


class StoredObservations(Sequence[Observation]):
    """Documents that are known to be sound, in the order of their numbers in the file."""

    def __init__(self, table: Table, columns: Columns, moments: dict[str, datetime]) -> None:
        self._table, self._columns, self._moments = table, columns, moments

    @cached_property
    def looks(self) -> Looks:
        """The checks that stand, as columns."""
        standing = [mark is None for mark in self._columns.get("struck", ())]
        seconds = {text: moment.timestamp() for text, moment in self._moments.items()}

        def column(name: str) -> list[Any]:
            found = self._columns.get(name) or [None] * len(self._table)
            return list(compress(found, standing)) if standing else found

        return Looks(
            column("individual"),
            [seconds[text] for text in column("at")],
            column("stage"),
            column("fate"),
            column("cause"),
            [seen is True for seen in column("witnessed")],
        )

    @cached_property
    def _records(self) -> tuple[Observation, ...]:
        with no_collection():
            return tuple(
                codec.observation(document, int(number)) for number, document in self._table.items()
            )

    def __len__(self) -> int:
        return len(self._table)

    @overload
    def __getitem__(self, place: int) -> Observation: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Observation]: ...
    def __getitem__(self, place: int | slice) -> Observation | Sequence[Observation]:
        return self._records[place]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._records == tuple(other)

    __hash__ = None  # type: ignore[assignment]


def stored(table: Table, known: Collection[str]) -> StoredObservations | None:
    """The observations of a table whose every document is sound, checked column by column.

    None where something is not as it should be: reading record by record then tells what. `known`
    are the codes of the individuals.
    """
    if not table:
        return StoredObservations(table, {}, {})
    documents = list(table.values())
    try:
        fields = set().union(*documents)
        columns = {name: list(map(dict.get, documents, repeat(name))) for name in fields & _KNOWN}
        if not (_numbered(table) and _whole(documents, columns) and _sound(columns, known)):
            return None
        texts = set().union(*(columns.get(name, ()) for name in _MOMENTS))
        moments = {text: codec.moment(text) for text in texts if text is not None}
        for mark in columns.get("struck", ()):
            if mark is not None:
                codec.struck(mark)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError):
        return None
    return StoredObservations(table, columns, moments)


def _numbered(table: Table) -> bool:
    """Whether the keys are numbers as this program writes them; raises IndexError for an empty."""
    digits = "".join(table)
    return (
        digits.isascii()
        and digits.isdecimal()
        and "0" not in set(map(itemgetter(0), table))
        and max(map(len, table)) <= codec.LONGEST_NUMBER
    )


def _whole(documents: list[Document], columns: Columns) -> bool:
    """Whether the columns hold every value of the documents, and none of these is null."""
    values = sum(len(column) - column.count(None) for column in columns.values())
    return sum(map(len, documents)) == values


def _sound(columns: Columns, known: Collection[str]) -> bool:
    """Whether the values of every column are of their kind, but for moments and marks.

    Raises KeyError where no document has a field that all must have.
    """
    numbers = [value for name in _NUMBERS for value in columns.get(name, ()) if value is not None]
    return (
        set(columns["individual"]) <= set(known)
        and None not in columns["at"]
        and all(set(map(type, columns.get(name, ()))) <= {str, NoneType} for name in _TEXTS)
        and set(map(type, numbers)) <= {int, float}
        and all(map(isfinite, numbers))
        and set(map(type, columns.get("witnessed", ()))) <= {bool, NoneType}
    )
