"""The observations of a file, made into records only when somebody asks for records.

Most answers need columns. Reading a year of checks into columns takes a fraction of the time that
a record each would take.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from functools import cached_property
from itertools import chain
from math import isfinite
from typing import Any, overload

from rearlog.records.log import Observation
from rearlog.records.looks import Looks
from rearlog.store import codec
from rearlog.store.layout import Document, Table

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
        sound = _numbered(table) and _shaped(documents) and _valued(documents, known)
        moments = {text: codec.moment(text) for text in _texts_of(documents, _MOMENTS)}
        for each in documents:
            if "struck" in each:
                codec.struck(each["struck"])
    except (AttributeError, KeyError, TypeError, ValueError):
        return None
    return StoredObservations(table, moments) if sound else None


def _numbered(table: Table) -> bool:
    digits = "".join(table)
    return not table or (
        digits.isascii()
        and digits.isdecimal()
        and not any(number[:1] in ("", "0") for number in table)
        and max(map(len, table)) <= codec.LONGEST_NUMBER
    )


def _shaped(documents: list[Document]) -> bool:
    return set(map(type, documents)) <= {dict} and set().union(*documents) <= _KNOWN


def _valued(documents: list[Document], known: Collection[str]) -> bool:
    individuals = {each["individual"] for each in documents}
    numbers = list(chain.from_iterable(_column(documents, name) for name in _NUMBERS))
    flags = _column(documents, "witnessed")
    return (
        individuals <= set(known)
        and all(set(map(type, _column(documents, name))) <= {str} for name in _TEXTS)
        and set(map(type, numbers)) <= {int, float}
        and all(map(isfinite, numbers))
        and set(map(type, flags)) <= {bool}
        and all("at" in each for each in documents)
    )


def _column(documents: Iterable[Document], name: str) -> list[Any]:
    return [each[name] for each in documents if name in each]


def _texts_of(documents: list[Document], names: Iterable[str]) -> set[str]:
    return {value for name in names for value in _column(documents, name)}
