"""What the results are with some records, and what they are without them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.stages.durations import Durations
from rearlog.analysis.survival.survival import Survival

Figure = str | float | None

_OF_INDIVIDUALS = ("outcome", "days", "degree_days")
_OF_STAGES = ("entered", "completed", "died", "lost", "removed", "in_stage", "mean", "median")
_OF_SURVIVAL = ("deaths", "censored", "median_days")


class Change(Struct, frozen=True):
    """One figure of a result (durations in days) that is another one without the records."""

    of: str
    figure: str
    before: Figure
    after: Figure


class StrikeEffect(Answer, frozen=True):
    """All figures of durations and survival that change when records are struck out."""

    cohort: str
    changes: tuple[Change, ...]


def strike_effect(
    before: tuple[Durations, Survival], after: tuple[Durations, Survival]
) -> StrikeEffect:
    """Compare the results with some records, and without them."""
    (durations, survival), (later_durations, later_survival) = before, after
    changes = [
        *_changes(_by_stage(durations), _by_stage(later_durations), _OF_STAGES),
        *_changes({"survival": survival}, {"survival": later_survival}, _OF_SURVIVAL),
        *_changes(_by_individual(durations), _by_individual(later_durations), _OF_INDIVIDUALS),
    ]
    return StrikeEffect(durations.cohort, tuple(changes))


def _by_stage(durations: Durations) -> dict[str, Any]:
    return {f"{each.stage}, cohort": each for each in durations.stages}


def _by_individual(durations: Durations) -> dict[str, Any]:
    return {f"{each.stage}, {each.individual}": each for each in durations.individuals}


def _changes(
    before: dict[str, Any], after: dict[str, Any], figures: Sequence[str]
) -> Iterator[Change]:
    for of in dict.fromkeys((*before, *after)):
        for figure in figures:
            old, new = (getattr(each.get(of), figure, None) for each in (before, after))
            if not _same(old, new):
                yield Change(of, figure, old, new)


def _same(old: Figure, new: Figure) -> bool:
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=1e-9, abs_tol=1e-9)
    return old == new
