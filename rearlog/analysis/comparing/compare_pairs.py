"""How far two cohorts are apart in one stage, for all pairs of those that are compared."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rearlog.analysis.comparing.cohort_values import CohortValues
from rearlog.analysis.comparing.stage_comparison import PairDifference
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.differences import (
    Difference,
    MediansDrawn,
    Ratio,
    resampled_medians,
    verdict,
)
from rearlog.analysis.statistics.levels import Z_95
from rearlog.analysis.statistics.pairs import PairOfMeans, pairs_of_means


def compare_pairs(
    tested: Sequence[CohortValues], means: Sequence[CheckedMean], *, of_all: bool
) -> tuple[PairDifference, ...]:
    """All pairs, by their means (see `pairs_of_means`), or the logarithms of the means `of_all`
    that were watched. Their medians rest on the same draws of each cohort."""
    # drawing individuals again tells nothing of cages, nor of those that it leaves out
    sound = not of_all and not any(each.clusters for each in tested)
    drawn = resampled_medians([each.values for each in tested]) if sound else None
    return tuple(_pair(tested, test, drawn, of_all) for test in pairs_of_means(means))


def _pair(
    tested: Sequence[CohortValues], test: PairOfMeans, drawn: MediansDrawn | None, of_all: bool
) -> PairDifference:
    one, other = tested[test.first], tested[test.second]
    gap = test.difference
    more, fewer = gap.low is not None and gap.low > 0, gap.high is not None and gap.high < 0
    ratio = None
    if of_all:
        ratio = Ratio.of_logarithms(gap)
        gap = Difference(float(one.values.mean() - other.values.mean()), None, None)
    middle = float(np.median(one.values) - np.median(other.values))
    medians = Difference(middle, None, None)
    if drawn is not None:
        medians = _widened(drawn.difference(test.first, test.second), one, other)
    return PairDifference(
        cohort=one.cohort,
        other=other.cohort,
        medians=medians,
        means=gap,
        ratio=ratio,
        p=test.p,
        verdict=verdict(test.p),
        longer=one.cohort if more else other.cohort if fewer else None,
    )


def _widened(medians: Difference, one: CohortValues, other: CohortValues) -> Difference:
    """The difference of medians, its interval widened by what drawing individuals again does not
    show: the error that the checks share, and that a median stands on the grid of the checks, so
    that it is off by anything up to half of it."""
    if medians.low is None or medians.high is None:
        return medians
    hidden = Z_95 * float(np.hypot(one.median_error, other.median_error))
    return Difference(
        medians.estimate,
        medians.estimate - float(np.hypot(medians.estimate - medians.low, hidden)),
        medians.estimate + float(np.hypot(medians.high - medians.estimate, hidden)),
    )
