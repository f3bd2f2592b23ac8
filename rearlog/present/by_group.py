"""An answer for each group of a factor, as one result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from rearlog.analysis.answer import Answer
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.stages.durations import Durations


class DurationsByGroup(Struct, frozen=True):
    """How long each stage took, group by group. `by` is the factor."""

    by: str
    groups: tuple[Durations, ...]

    @property
    def contradicted(self) -> Mapping[str, Sequence[str]]:
        """By group those individuals of which looks contradict each other."""
        return _contradicted(self.groups)


class GrowthByGroup(Struct, frozen=True):
    """How they grew, group by group. `by` is the factor."""

    by: str
    groups: tuple[Growth, ...]

    @property
    def contradicted(self) -> Mapping[str, Sequence[str]]:
        """By group those individuals of which looks contradict each other."""
        return _contradicted(self.groups)


def _contradicted(groups: Iterable[Answer]) -> Mapping[str, Sequence[str]]:
    return {name: codes for each in groups for name, codes in each.contradicted.items()}
