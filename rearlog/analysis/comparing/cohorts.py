"""Cohorts as they enter a comparison of several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rearlog.analysis.heat.gap_filling import TemperatureGaps, gaps_in
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import EventHistory
from rearlog.records.errors import UsageError


@dataclass(frozen=True, eq=False)
class ComparedCohort:
    """One cohort: its name, its species' scientific name, its events, its heat where known."""

    cohort: str
    species: str
    history: EventHistory
    curve: HeatCurve | None

    @property
    def gaps(self) -> TemperatureGaps | None:
        """The gaps in its temperatures, where heat is counted."""
        return None if self.curve is None else gaps_in(self.cohort, self.curve.temperatures)


def names_of(cohorts: Sequence[ComparedCohort], alone: str) -> tuple[str, ...]:
    """The names in their order.

    Raises UsageError for fewer than two, with the message `alone`, or for one given twice.
    """
    names = tuple(each.cohort for each in cohorts)
    if len(names) < 2:
        raise UsageError(alone)
    if len(set(names)) < len(names):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    return names
