"""Cohorts as they enter a comparison of several."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Integers
from rearlog.analysis.heat.gap_filling import TemperatureGaps, gaps_in
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.statistics.clusters import Clusters
from rearlog.records.errors import UsageError

Level = str | None
"""That of a factor; None where it is not known."""


class ComparedCohort(Struct, frozen=True, eq=False):
    """One cohort: its name, its species' scientific name, its events, its heat where known.

    `containers` and `clutches` say of each individual, in the order of the history, in which cage
    it lived and of which batch of eggs it came; None where that is not known. `cohorts` says of
    which cohort, where it is a group of several, and `levels`, in a design, which those of all its
    factors are.
    """

    cohort: str
    species: str
    history: EventHistory
    curve: HeatCurve | None
    containers: tuple[str | None, ...] = ()
    clutches: tuple[str | None, ...] = ()
    cohorts: tuple[str, ...] = ()
    levels: tuple[tuple[Level, ...], ...] = ()

    @property
    def gaps(self) -> TemperatureGaps | None:
        """The gaps in its temperatures, where heat is counted."""
        return None if self.curve is None else gaps_in(self.cohort, self.curve.temperatures)


class Shared(StrEnum):
    """What individuals of a cohort may share."""

    COHORT = "cohort"
    CONTAINER = "container"
    CLUTCH = "clutch"


class Sharing(Struct, frozen=True, eq=False):
    """What individuals share that must be counted in a comparison: the same things in all cohorts,
    and for each cohort who shares them. Clutches that are `divided` among all cohorts, known by
    their names, set none of them apart and are not counted."""

    things: tuple[Shared, ...]
    of: tuple[Clusters, ...]
    divided: bool


def sharing(cohorts: Sequence[ComparedCohort]) -> Sharing:
    """What is shared by individuals of any cohort. Who is alone in a cup shares none, nor does one
    of whom it is not known. Where groups are of several cohorts, these are what is shared: whatever
    else individuals of a group have in common lies within them."""
    if any(each.cohorts for each in cohorts):
        of_each = [each.cohorts or (each.cohort,) * len(each.history.codes) for each in cohorts]
        labels = tuple((own,) for own in labelled(of_each, apart=True))
        return Sharing((Shared.COHORT,), labels, divided=False)
    nobody = [(None,) * len(each.history.codes) for each in cohorts]
    names = {
        Shared.CONTAINER: [each.containers or no for each, no in zip(cohorts, nobody, strict=True)],
        Shared.CLUTCH: [each.clutches or no for each, no in zip(cohorts, nobody, strict=True)],
    }
    things = [
        thing for thing, known in names.items() if any(is_shared(of_cohort) for of_cohort in known)
    ]
    divided = Shared.CLUTCH in things and _divided(names[Shared.CLUTCH])
    if divided:
        things.remove(Shared.CLUTCH)
    by_thing = [labelled(names[thing], apart=True) for thing in things]
    return Sharing(
        tuple(things),
        tuple(tuple(each[place] for each in by_thing) for place in range(len(cohorts))),
        divided,
    )


def is_shared(names: Sequence[str | None]) -> bool:
    """Whether two individuals have the same of these names, one for each (None: not known)."""
    known = [name for name in names if name is not None]
    return len(set(known)) < len(known)


def _divided(clutches: Sequence[Sequence[str | None]]) -> bool:
    """Whether all cohorts are of the same clutches, and of nothing else."""
    found = [set(each) for each in clutches]
    return None not in found[0] and all(each == found[0] for each in found)


def labelled(names: Sequence[Sequence[str | None]], *, apart: bool) -> tuple[Integers, ...]:
    """A number for each name, and one of its own for each individual that has none; names of
    different cohorts are the same unless they are `apart`."""
    known: dict[tuple[int, int | str], int] = {}

    def label(cohort: int, row: int, name: str | None) -> int:
        key = (cohort, row) if name is None else (cohort if apart else 0, name)
        return known.setdefault(key, len(known))

    return tuple(
        np.array([label(cohort, *each) for each in enumerate(theirs)], dtype=np.int64)
        for cohort, theirs in enumerate(names)
    )


def at_several_temperatures(
    cohorts: Sequence[ComparedCohort], leave_out: Collection[str], remedy: str
) -> tuple[str, tuple[str, ...]]:
    """The species and the names of cohorts of one species, some of which are to be left out.

    Raises UsageError as `names_of` does, for different species, and for an unknown name to leave
    out.
    """
    names = names_of(cohorts, remedy)
    species = {each.species for each in cohorts}
    if len(species) > 1:
        raise UsageError(f"the cohorts are of different species: {', '.join(sorted(species))}")
    unknown = set(leave_out) - set(names)
    if unknown:
        raise UsageError(
            f"there is no cohort {', '.join(sorted(unknown))} to leave out",
            f"the cohorts are {', '.join(names)}",
        )
    return species.pop(), names


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
