"""What is found where one stage is compared between cohorts."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf
from rearlog.analysis.statistics.differences import Difference, NoTest, Ratio, Verdict

DAYS, DEGREE_DAYS = "days", "degree-days C"
WHOLE = "whole development"

MOST_IN_PAIRS = 10
"""More cohorts than this are compared two by two only where that is asked for: the pairs of 50 are
1,225, of which nobody reads the list, while the tests of all of them at once stay as they are."""


class Counted(StrEnum):
    """Whose times a test compares."""

    COMPLETED = "those_that_completed_it"
    """Nobody else was watched for as long: their means."""
    EVERYBODY = "everybody"
    """Those too that were not seen to complete it: means of ln time (see `means_of_all`)."""


class GroupSummary(Struct, frozen=True):
    """One cohort in one stage, over those that completed it; `se` counts the error of the checks
    (see `checked_mean`) and what individuals share.

    `mean_of` says for whom the mean stands, and `left_open` who was not seen to complete it
    although watched for as long; `mean_of_all` counts them, where the test does, with 95 % limits
    `mean_of_all_low` and `mean_of_all_high`. `clusters` is the number of cages or clutches, where
    they are counted. Cohorts that have a letter of `letters` in common were not shown to differ
    (None where they were not tested).
    """

    cohort: str
    n: int
    mean: float | None
    sd: float | None
    se: float | None
    median: float | None
    mean_of: MeanOf
    left_open: LeftOpen
    mean_of_all: float | None
    mean_of_all_low: float | None
    mean_of_all_high: float | None
    clusters: int | None
    letters: str | None


class PairDifference(Struct, frozen=True):
    """`cohort` less `other`, of those that completed it: the medians (bootstrap) and the means.

    Where more are counted, the interval is that of `ratio`, how many times as long the mean of all
    of `cohort` took as that of `other`. `p` and intervals of means and ratios are corrected for the
    number of pairs (see `pairs_of_means`), and `verdict` is what p says, none before that of the
    stage. `longer` is the one that took more on average, None where the interval leaves it open.
    """

    cohort: str
    other: str
    medians: Difference
    means: Difference
    ratio: Ratio | None
    p: float | None
    verdict: Verdict
    longer: str | None

    @property
    def longer_first(self) -> PairDifference:
        """The same pair, the one that took more first."""
        more = self.means.estimate >= 0 if self.ratio is None else self.ratio.estimate >= 1
        return self if more else self.turned

    @property
    def turned(self) -> PairDifference:
        """The same pair, the second less the first."""
        return replace(
            self,
            cohort=self.other,
            other=self.cohort,
            medians=self.medians.turned,
            means=self.means.turned,
            ratio=self.ratio and self.ratio.turned,
        )


class StageComparison(Struct, frozen=True):
    """One stage (or the whole) compared between cohorts, in days or degree-days.

    `counted` says whose times the test compares. `p_holm` is corrected for the number of stages,
    and `verdict` is what it says; `shown_alone` where p, without the correction, would say that
    they differ, and `p_holm` does not. Cohorts with too few for a test are `left_out` of it; where
    none could be made, `reason` says why. Where individuals share cages or clutches, these
    `clustered_by` are what is compared, and `intraclass` says how alike those are that share one.
    `difference` is that of the medians of two cohorts; `pairs` has all, of means too. Where
    somebody looks once a day, medians stand on whole days and the means say more. `resolution`,
    where a cohort passed in step, is the smallest difference that the checks could show, in the
    unit, however many individuals.
    """

    stage: str
    unit: str
    groups: tuple[GroupSummary, ...]
    left_out: tuple[str, ...]
    counted: Counted
    test: str
    statistic: float | None
    p: float | None
    p_holm: float | None
    verdict: Verdict
    shown_alone: bool
    reason: NoTest | None
    clustered_by: tuple[Shared, ...]
    intraclass: float | None
    difference: Difference | None
    pairs: tuple[PairDifference, ...]
    resolution: float | None

    @property
    def tested(self) -> tuple[GroupSummary, ...]:
        """The cohorts that are not left out."""
        return tuple(each for each in self.groups if each.cohort not in self.left_out)

    @property
    def by_mean(self) -> tuple[GroupSummary, ...]:
        """The cohorts of which somebody completed it, the lowest mean first."""
        known = [(each.mean, each) for each in self.groups if each.mean is not None]
        return tuple(each for _, each in sorted(known, key=lambda item: item[0]))
