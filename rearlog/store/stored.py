"""The observations of a file, which are told their numbers only when somebody asks for records.

Most answers need columns, and these need no numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import overload

from rearlog.records.columns import ObservationColumns
from rearlog.records.log import Observation
from rearlog.store.codec import numbered


class StoredObservations(Sequence[Observation]):
    """Observations in the order of their numbers in the file, by these numbers."""

    def __init__(self, found: Mapping[str, Observation]) -> None:
        self._found = found

    @cached_property
    def columns(self) -> ObservationColumns:
        """The checks that stand, as columns."""
        return ObservationColumns(self._found.values())

    @cached_property
    def _records(self) -> tuple[Observation, ...]:
        return tuple(map(numbered, self._found.values(), map(int, self._found)))

    def __len__(self) -> int:
        return len(self._found)

    @overload
    def __getitem__(self, place: int) -> Observation: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Observation]: ...
    def __getitem__(self, place: int | slice) -> Observation | Sequence[Observation]:
        return self._records[place]

    def __iter__(self) -> Iterator[Observation]:
        return iter(self._records)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._records == tuple(other)

    __hash__ = None  # type: ignore[assignment]
