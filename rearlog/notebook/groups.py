"""Groups of individuals, each of which answers as a cohort does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from rearlog.notebook.apart import told_apart
from rearlog.notebook.cohort import Notebook, told_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rearlog.analysis.comparing.cohorts import ComparedCohort
    from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
    from rearlog.analysis.heat.heat_curve import HeatCurve
    from rearlog.records.groups import LogGroup


class GroupNotebook(Notebook):
    """A group of individuals and the answers about it; `group` says which."""

    def __init__(self, group: LogGroup, of: Notebook) -> None:
        super().__init__(of.path, of._options, of._as_of)
        self._log = group.log
        self.group = group

    def compared(self, curve: HeatCurve | None) -> ComparedCohort:
        """The group as it enters a comparison: where it is of several cohorts, these are what its
        individuals share."""
        found = super().compared(curve)
        shared = self.group.cohorts if self.group.pooled else ()
        return replace(found, cohort=self.group.short, cohorts=shared)


def grouped(notebooks: Sequence[Notebook], by: str) -> list[GroupNotebook]:
    """The groups of a factor, as `records.groups` makes them: last those whose level is not known.

    Each answers as a cohort does. Raises UsageError as `records.groups.grouped` does.
    """
    from rearlog.records.groups import grouped

    notebooks = told_apart(notebooks)
    first = notebooks[0]
    return [GroupNotebook(each, first) for each in grouped([one.log for one in notebooks], by)]


def survival_by(
    notebooks: Sequence[Notebook], by: str, first: str | None = None, until: str | None = None
) -> SurvivalByGroup:
    """Survival group by group, and whether the groups differ; see `comparing.survival_by_group`."""
    from rearlog.analysis.comparing.survival_by_group import HistoryOfGroup, survival_by_group
    from rearlog.records.groups import factor_called

    notebooks = told_apart(notebooks)
    groups = grouped(notebooks, by)
    return told_of(
        survival_by_group(
            factor_called(by, [each.log for each in notebooks]),
            [each.name for each in notebooks],
            [
                HistoryOfGroup(each.name, each.group.short, each.group.level, each.event_history)
                for each in groups
            ],
            first,
            until,
        ),
        notebooks,
    )
