"""Whether survival differs between cohorts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Booleans
from rearlog.analysis.statistics.kaplan_meier import LogRank, log_rank
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.analysis.statistics.wording import listed, p_text

Watched = tuple[npt.NDArray[np.float64], Booleans]
"""The days (n,) under watch, and whether the individual then died (n,): see `survival.watched`."""


@dataclass(frozen=True, slots=True)
class GroupSurvival:
    """One cohort's deaths, and how many there would be if all died alike (None: no test)."""

    cohort: str
    n: int
    died: int
    expected: float | None


@dataclass(frozen=True, slots=True)
class SurvivalComparison:
    """The log-rank test between the cohorts; None where none could be made."""

    groups: tuple[GroupSurvival, ...]
    chi2: float | None
    df: int
    p: float | None
    words: str


def survival_difference(names: Sequence[str], lives: Sequence[Watched]) -> SurvivalComparison:
    """The log-rank test between cohorts, by their names and what was watched of each."""
    empty = [name for name, (_, died) in zip(names, lives, strict=True) if not len(died)]
    test = LogRank(None, 0, None, (), ()) if empty else log_rank(lives)
    expected = test.expected if test.p is not None else [None] * len(lives)
    groups = tuple(
        GroupSurvival(name, len(died), int(died.sum()), hoped)
        for name, (_, died), hoped in zip(names, lives, expected, strict=True)
    )
    if empty:
        finding = f"no test, since nobody was under watch in {listed(empty)}"
    elif test.p is None:
        finding = "no test, since nobody died while two cohorts were under watch"
    else:
        finding = "the cohorts differ" if test.p < DIFFERENT else "no difference shown"
        finding += f" ({p_text(test.p)})"
    counts = listed([f"{each.died} of {each.n} died in {each.cohort}" for each in groups if each.n])
    words = "; ".join(filter(None, (f"Survival: {finding}", counts)))
    return SurvivalComparison(groups, test.chi2, test.df, test.p, f"{words}.")
