"""Whether survival differs between cohorts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rearlog.analysis.statistics.differences import Verdict, verdict
from rearlog.analysis.statistics.kaplan_meier import LogRank, log_rank
from rearlog.analysis.survival.watch import Watched


@dataclass(frozen=True, slots=True)
class GroupSurvival:
    """One cohort's deaths, and how many there would be if all died alike (None: no test)."""

    cohort: str
    n: int
    died: int
    expected: float | None


@dataclass(frozen=True, slots=True)
class SurvivalComparison:
    """The log-rank test between the cohorts, and what it says; None where none could be made, since
    nobody was under watch in a cohort, or nobody died while two were."""

    groups: tuple[GroupSurvival, ...]
    chi2: float | None
    df: int
    p: float | None
    verdict: Verdict


def survival_difference(names: Sequence[str], lives: Sequence[Watched]) -> SurvivalComparison:
    """The log-rank test between cohorts, by their names and what was watched of each."""
    watched = all(len(each.died) for each in lives)
    pairs = [(each.days, each.died) for each in lives]
    test = log_rank(pairs) if watched else LogRank(None, 0, None, (), ())
    expected = test.expected if test.p is not None else [None] * len(lives)
    groups = tuple(
        GroupSurvival(name, len(each.died), int(each.died.sum()), hoped)
        for name, each, hoped in zip(names, lives, expected, strict=True)
    )
    return SurvivalComparison(groups, test.chi2, test.df, test.p, verdict(test.p))
