"""The observations of a file, made into records only when somebody asks for records.

Most answers need columns. Reading a year of checks into columns takes a fraction of the time that
a record each would take.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from functools import cached_property
from math import isfinite
from typing import Any, overload

from rearlog.records.log import Observation
from rearlog.records.looks import Looks
from rearlog.store import codec
from rearlog.store.layout import Document, Table, no_collection

_TEXTS = ("individual", "stage", "fate", "cause", "sex", "by", "note")
_NUMBERS = ("length_mm", "head_width_mm", "mass_mg")
_MOMENTS = ("at", "entered")
_KNOWN = {*_TEXTS, *_NUMBERS, *_MOMENTS, "witnessed", "struck"}


class StoredObservations(Sequence[Observation]):
    """Documents that are known to be sound, in the order of their numbers in the file."""

    def __init__(self, table: Table, moments: dict[str, datetime]) -> None:
        self._table, self._moments = table, moments

    @cached_property
    def looks(self) -> Looks:
        """The checks that stand, as columns."""
        standing = [each for each in self._table.values() if "struck" not in each]
        seconds = {text: moment.timestamp() for text, moment in self._moments.items()}
        return Looks(
            [each["individual"] for each in standing],
            [seconds[each["at"]] for each in standing],
            [each.get("stage") for each in standing],
            [each.get("fate") for each in standing],
            [each.get("cause") for each in standing],
            [each.get("witnessed", False) for each in standing],
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
    documents = list(table.values())
    try:
        fields = set().union(*documents)
        columns = {
            name: [each[name] for each in documents if name in each] for name in fields & _KNOWN
        }
        if not (fields <= _KNOWN and _numbered(table) and _sound(documents, columns, known)):
            return None
        texts = {text for name in _MOMENTS for text in columns.get(name, ())}
        moments = {text: codec.moment(text) for text in texts}
        for mark in columns.get("struck", ()):
            codec.struck(mark)
    except (AttributeError, KeyError, TypeError, ValueError):
        return None
    return StoredObservations(table, moments)


def _numbered(table: Table) -> bool:
    """Whether the keys are numbers as this program writes them."""
    digits = "".join(table)
    return not table or (
        digits.isascii()
        and digits.isdecimal()
        and not any(number[:1] in ("", "0") for number in table)
        and max(map(len, table)) <= codec.LONGEST_NUMBER
    )


def _sound(
    documents: list[Document], columns: dict[str, list[Any]], known: Collection[str]
) -> bool:
    """Whether every field has a value of its kind, and those that must be there are there."""
    numbers = [value for name in _NUMBERS for value in columns.get(name, ())]
    return (
        set(map(type, documents)) <= {dict}
        and all(len(columns.get(name, ())) == len(documents) for name in ("individual", "at"))
        and all(set(map(type, columns.get(name, ()))) <= {str} for name in _TEXTS)
        and set(columns.get("individual", ())) <= set(known)
        and set(map(type, numbers)) <= {int, float}
        and all(map(isfinite, numbers))
        and set(map(type, columns.get("witnessed", ()))) <= {bool}
    )
