"""What the results are with some records, and what they are without them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.stages.durations import Durations
from rearlog.analysis.survival.survival import Survival

Figure = str | float | None

_OF_INDIVIDUALS = dict.fromkeys(("outcome", "days", "degree_days"))
_OF_STAGES = {
    **dict.fromkeys(("entered", "completed", "died", "lost", "removed", "in_stage"), 0),
    **dict.fromkeys(("mean", "median")),
}
_OF_SURVIVAL = dict.fromkeys(("deaths", "censored", "median_days"))
"""The figures, and what each is where nobody came into a stage: none of them died in it."""


class Change(Struct, frozen=True):
    """One figure of a result (durations in days) that is another one without the records."""

    of: str
    figure: str
    before: Figure
    after: Figure


class StrikeEffect(Answer, frozen=True):
    """All figures of durations and survival that change when records are struck out, and how many
    that are known stay as they are (`unchanged`)."""

    cohort: str
    changes: tuple[Change, ...]
    unchanged: int


def strike_effect(
    before: tuple[Durations, Survival], after: tuple[Durations, Survival]
) -> StrikeEffect:
    """Compare the results with some records, and without them."""
    (durations, survival), (later_durations, later_survival) = before, after
    every = [
        *_known(_by_stage(durations), _by_stage(later_durations), _OF_STAGES),
        *_known({"survival": survival}, {"survival": later_survival}, _OF_SURVIVAL),
        *_known(_by_individual(durations), _by_individual(later_durations), _OF_INDIVIDUALS),
    ]
    changes = tuple(each for each in every if not _same(each.before, each.after))
    return StrikeEffect(durations.cohort, changes, len(every) - len(changes))


def _by_stage(durations: Durations) -> dict[str, Any]:
    return {f"{each.stage}, cohort": each for each in durations.stages}


def _by_individual(durations: Durations) -> dict[str, Any]:
    return {f"{each.stage}, {each.individual}": each for each in durations.individuals}


def _known(
    before: dict[str, Any], after: dict[str, Any], figures: Mapping[str, Figure]
) -> Iterator[Change]:
    """What each figure is before and after, where it is known of either; `figures` says what it is
    where nobody is counted."""
    for of in dict.fromkeys((*before, *after)):
        for figure, of_nobody in figures.items():
            old, new = (getattr(each.get(of), figure, of_nobody) for each in (before, after))
            if (old, new) != (None, None):
                yield Change(of, figure, old, new)


def _same(old: Figure, new: Figure) -> bool:
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=1e-9, abs_tol=1e-9)
    return old == new
