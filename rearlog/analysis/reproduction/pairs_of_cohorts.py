"""Whether cohorts differ in their life tables, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.reproduction.bootstrap import at_rank
from rearlog.analysis.reproduction.estimates import Estimates, Measure
from rearlog.analysis.statistics.differences import Difference, Verdict, holm, verdict
from rearlog.analysis.statistics.levels import CONFIDENCE, tails


class PairOfCohorts(Struct, frozen=True):
    """How much more of a measure cohort `first` has than `second` (places from 0).

    The limits hold for all pairs of the measure together, and so does `p`; both are None where
    nothing was drawn, or a cohort has no such measure.
    """

    measure: Measure
    first: int
    second: int
    difference: Difference
    p: float | None

    @property
    def verdict(self) -> Verdict:
        """What p says."""
        return verdict(self.p)


def pairs_of_cohorts(
    cohorts: Sequence[Estimates], wanted: Sequence[Measure] = tuple(Measure)
) -> tuple[PairOfCohorts, ...]:
    """All pairs of two or more cohorts, measure by measure, where both have it.

    Resamples of two cohorts, drawn apart, are paired and subtracted; the limits are percentiles of
    these differences, at 1 − 0.05/k for k pairs (Bonferroni). p is twice the part of them on the
    rarer side of zero, corrected by Holm over the pairs of a measure; with 10,000 resamples it is
    no less than 0.0002. A difference of which one side is infinite keeps its place in the order.
    Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 8 and 15.4.
    """
    found: list[PairOfCohorts] = []
    by_measure = [{each.measure: each for each in one.measures} for one in cohorts]
    pairs = list(combinations(range(len(cohorts)), 2))
    for measure in wanted:
        told = []
        for first, second in pairs:
            a, b = by_measure[first][measure].estimate, by_measure[second][measure].estimate
            if a is not None and b is not None:
                draws = _differences(cohorts[first], cohorts[second], measure)
                told.append((first, second, a - b, draws))
        adjusted = holm([_p(draws) for *_, draws in told])
        part = 1 - (1 - CONFIDENCE) / max(len(told), 1)
        for (first, second, gap, draws), p in zip(told, adjusted, strict=True):
            limits = [at_rank(draws, end) if p is not None else None for end in tails(part)]
            found.append(PairOfCohorts(measure, first, second, Difference(gap, *limits), p))
    return tuple(found)


def _differences(first: Estimates, second: Estimates, measure: Measure) -> Floats:
    """The differences of paired resamples, ascending; empty where there are none."""
    if not first.resamples or not second.resamples:
        return np.empty(0)
    with np.errstate(invalid="ignore"):  # of two that are infinite
        gaps = first.draws[measure] - second.draws[measure]
    return np.sort(gaps[~np.isnan(gaps)])


def _p(ordered: Floats) -> float | None:
    """Twice the part of the differences on the rarer side of zero; None where there are none, or
    all are the same."""
    if not len(ordered) or ordered[0] == ordered[-1]:
        return None
    rarer = min(int((ordered <= 0).sum()), int((ordered >= 0).sum()))
    return min(1.0, 2 * (rarer + 1) / (len(ordered) + 1))
