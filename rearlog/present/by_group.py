"""An answer for each group of a factor, as one result."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.stages.durations import Durations


@dataclass(frozen=True, slots=True)
class DurationsByGroup:
    """How long each stage took, group by group. `by` is the factor."""

    by: str
    groups: tuple[Durations, ...]


@dataclass(frozen=True, slots=True)
class GrowthByGroup:
    """How they grew, group by group. `by` is the factor."""

    by: str
    groups: tuple[Growth, ...]
