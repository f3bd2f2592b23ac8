"""How long the individuals of groups lived, and whether the groups differ in it."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_difference
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.survival.survival import Survival, survival
from rearlog.analysis.survival.watch import refuse_unknown, watched
from rearlog.records.errors import UsageError


class HistoryOfGroup(Struct, frozen=True):
    """The events of one group: its full name and its short one, and its level (None: not known)."""

    name: str
    short: str
    level: str | None
    history: EventHistory


class SurvivalByGroup(Answer, frozen=True):
    """The survival of each group of some cohorts, and of those whose level is not known (`level`
    None, the last).

    `names` are the groups' short ones, one for each. `comparison` is between those whose level is
    known, by these names; None where there is one of them only. The sexes of many insects show in
    the last stages alone: who died before is of no known sex.
    """

    by: str
    cohorts: tuple[str, ...]
    since: str | None
    names: tuple[str, ...]
    groups: tuple[Survival, ...]
    comparison: SurvivalComparison | None

    @property
    def known(self) -> tuple[tuple[str, Survival], ...]:
        """The groups whose level is known, each with its short name."""
        every = zip(self.names, self.groups, strict=True)
        return tuple((name, each) for name, each in every if each.level is not None)

    @property
    def not_known(self) -> int:
        """How many there are whose level is not known."""
        return sum(each.n for each in self.groups if each.level is None)


def survival_by_group(
    by: str,
    cohorts: Sequence[str],
    groups: Sequence[HistoryOfGroup],
    first: str | None = None,
    until: str | None = None,
) -> SurvivalByGroup:
    """Survival from entry or from `first`, until `until` or ever, group by group: see `survival`.

    Groups in which nobody was watched are left out. Raises UsageError as `survival` does, and where
    no level is known of anybody that it counts.
    """
    for each in groups:
        refuse_unknown(each.history, first, until)
    lives = [(each, watched(each.history, first, until)) for each in groups]
    there = [(each, seen) for each, seen in lives if len(seen.days)]
    if all(each.level is None for each, _ in there):
        who = f"of those in {first}" if first else f"in {', '.join(cohorts)}"
        raise UsageError(f"no {by} was noted {who}")
    found = tuple(
        survival(each.name, each.history, first, until, level=each.level) for each, _ in there
    )
    told = [place for place, (each, _) in enumerate(there) if each.level is not None]
    comparison = None
    if len(told) > 1:
        comparison = survival_difference(
            [there[place][0].short for place in told],
            [there[place][1] for place in told],
            [found[place].reached for place in told],
            first,
        )
    names = tuple(each.short for each, _ in there)
    return SurvivalByGroup(by, tuple(cohorts), first, names, found, comparison)
