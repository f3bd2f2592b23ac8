"""Cohorts as they enter a comparison of several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rearlog.analysis.events import Development
from rearlog.analysis.heat_curve import HeatCurve
from rearlog.records.errors import UsageError


@dataclass(frozen=True, eq=False)
class Entrant:
    """One cohort: its name, its species' scientific name, its events, its heat where known."""

    cohort: str
    species: str
    development: Development
    curve: HeatCurve | None


def names_of(entrants: Sequence[Entrant], alone: str) -> tuple[str, ...]:
    """The names in their order.

    Raises UsageError for fewer than two, with the message `alone`, or for one given twice.
    """
    names = tuple(each.cohort for each in entrants)
    if len(names) < 2:
        raise UsageError(alone)
    if len(set(names)) < len(names):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    return names
