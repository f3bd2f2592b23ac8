"""The checks of a whole log as columns, for arithmetic that must not wait for a record each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from rearlog.records.log import CohortLog, Observation


@dataclass(frozen=True, slots=True)
class Looks:
    """The checks that stand, in the order of writing: one entry a check in every column.

    `seconds` are seconds since 1970 (UTC). What a column leaves unknown is None.
    """

    individual: list[str]
    seconds: list[float]
    stage: list[str | None]
    fate: list[str | None]
    cause: list[str | None]
    witnessed: list[bool]


def looks_of(observations: Iterable[Observation]) -> Looks:
    """The columns of observations, struck ones left out."""
    standing = [each for each in observations if each.struck is None]
    return Looks(
        [each.individual for each in standing],
        [each.at.timestamp() for each in standing],
        [each.stage for each in standing],
        [each.fate for each in standing],
        [each.cause for each in standing],
        [each.witnessed for each in standing],
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
