"""Whether survival differs between cohorts."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.statistics.differences import Verdict, verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank, interval_log_rank
from rearlog.analysis.statistics.interval_median import IntervalMedian, interval_median
from rearlog.analysis.survival.survival import ReachedEnd, reached_end
from rearlog.analysis.survival.watch import Watched, until_grown, watched


class GroupSurvival(Struct, frozen=True):
    """One cohort's deaths, how many there would be if all died alike (None: no test), what part of
    it reached the end, and when half had died (None: nobody was watched): the same as where it
    stands alone."""

    cohort: str
    n: int
    died: int
    expected: float | None
    reached: ReachedEnd
    median: IntervalMedian | None


class SurvivalComparison(Struct, frozen=True):
    """The log-rank test between the groups, of deaths that lie between two looks, and what it says:
    see `interval_log_rank`. Where none could be made, `reason` says why. Days count from entering
    the stage `since` (None: from the start). `left_out` deaths in the last stage do not count."""

    since: str | None
    groups: tuple[GroupSurvival, ...]
    chi2: float | None
    df: int
    p: float | None
    verdict: Verdict
    reason: NoLogRank | None
    left_out: int = 0

    @property
    def of_last_stage(self) -> bool:
        """Whether it is how long those lived that had come into the last stage."""
        return all(each.reached.stage == self.since for each in self.groups)


def survival_between(
    cohorts: Sequence[ComparedCohort], first: str | None, until: str | None
) -> SurvivalComparison:
    """How many died from entering `first` (or the cohort) to entering `until` (or the last stage),
    and the test between the cohorts. Deaths of adults count where `first` is the last stage: others
    would make of a cohort with short-lived adults one in which few grow up. Raises UsageError for
    unknown stages."""
    histories = [each.history for each in cohorts]
    seen = [watched(each, first, until) for each in histories]
    lives = [
        one if first == each.stages[-1] else until_grown(one, each)
        for one, each in zip(seen, histories, strict=True)
    ]
    found = survival_difference(
        [each.cohort for each in cohorts],
        lives,
        [reached_end(each, first, until or each.stages[-1]) for each in histories],
        first,
    )
    left_out = sum(int(one.died.sum()) for one in seen) - sum(each.died for each in found.groups)
    return replace(found, left_out=left_out)


def survival_difference(
    names: Sequence[str],
    lives: Sequence[Watched],
    reached: Sequence[ReachedEnd],
    since: str | None,
) -> SurvivalComparison:
    """The log-rank test between groups, by their names, what was watched of each from entering
    `since` on, and how many of each reached the end."""
    test = interval_log_rank([(each.low, each.high) for each in lives])
    expected = test.expected or [None] * len(lives)
    groups = tuple(
        GroupSurvival(
            name,
            len(each.died),
            int(each.died.sum()),
            hoped,
            end,
            interval_median(each.low, each.high) if len(each.died) else None,
        )
        for name, each, hoped, end in zip(names, lives, expected, reached, strict=True)
    )
    return SurvivalComparison(
        since, groups, test.chi2, test.df, test.p, verdict(test.p), test.reason
    )
