"""The observations of a file, made into records only when somebody asks for records.

Most answers need columns, and these come straight from the documents that were read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from operator import attrgetter
from typing import Any, overload

from rearlog.records.columns import ObservationColumns
from rearlog.records.log import Observation
from rearlog.store.layout import no_collection


class StoredObservations(Sequence[Observation]):
    """Observations in the order of their numbers in the file, as the documents of `codec`."""

    def __init__(self, documents: Mapping[str, Any]) -> None:
        self._documents = documents

    @cached_property
    def columns(self) -> ObservationColumns:
        """The checks that stand, as columns."""
        return ObservationColumns(self._documents.values())

    def _record(self, place: int) -> Observation:
        """One record alone, without making all the others."""
        number, document = self._numbered[place]
        names = (name for name in Observation.__struct_fields__ if name != "number")
        return Observation(number=int(number), **{name: getattr(document, name) for name in names})

    @cached_property
    def _numbered(self) -> list[tuple[str, Any]]:
        return [*self._documents.items()]

    @cached_property
    def _records(self) -> tuple[Observation, ...]:
        every = [*self._documents.values()]
        rows = (
            map(int, self._documents) if name == "number" else map(attrgetter(name), every)
            for name in Observation.__struct_fields__
        )
        with no_collection():
            return tuple(map(Observation, *rows))

    def __len__(self) -> int:
        return len(self._documents)

    @overload
    def __getitem__(self, place: int) -> Observation: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Observation]: ...
    def __getitem__(self, place: int | slice) -> Observation | Sequence[Observation]:
        if isinstance(place, int) and "_records" not in self.__dict__:
            return self._record(place)
        return self._records[place]

    def __iter__(self) -> Iterator[Observation]:
        return iter(self._records)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._records == tuple(other)

    __hash__ = None  # type: ignore[assignment]
