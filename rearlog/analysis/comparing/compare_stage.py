"""Whether cohorts differ in one stage, all at once and two by two."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rearlog.analysis.comparing.cohort_values import CohortValues, cohort_values
from rearlog.analysis.comparing.cohorts import ComparedCohort, Sharing
from rearlog.analysis.comparing.compare_pairs import compare_pairs
from rearlog.analysis.comparing.means_of_all import MeanOfAll, means_of_all
from rearlog.analysis.comparing.stage_comparison import (
    DEGREE_DAYS,
    Counted,
    GroupSummary,
    StageComparison,
)
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.stage_times import StageTimes
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.clusters import FEWEST_CLUSTERS, intraclass, number_of
from rearlog.analysis.statistics.differences import LocationTest, NoTest, mean_test, verdict
from rearlog.analysis.statistics.levels import Z_95


def compare_stage(
    stage: str,
    unit: str,
    cohorts: Sequence[ComparedCohort],
    spans: Sequence[StageTimes | None],
    shared: Sharing,
    *,
    in_pairs: bool,
) -> StageComparison:
    """Compare cohorts in one stage, by the spans of each, before any correction for other stages.

    Where nobody else was watched for as long, the midpoint durations of those that completed it
    are compared by their means (Welch; see `mean_test` and `cohort_values`); else everybody counts
    (see `means_of_all`). Means are those of individuals, and their errors those of cages or
    clutches, where individuals share them; with fewer than FEWEST_CLUSTERS of them in a cohort no
    test is made. Pairs, if they are wanted: see `compare_pairs`.
    """
    samples = [
        cohort_values(each, span, clusters, heat=unit == DEGREE_DAYS)
        for each, span, clusters in zip(cohorts, spans, shared.of, strict=True)
    ]
    tested = [each for each in samples if each.watched]
    watched = [each.watched for each in tested if each.watched]
    means = [each.completed for each in watched]
    of_all: dict[str, MeanOfAll] = {}
    if len(tested) > 1 and any(each.open.n for each in tested):
        found = means_of_all(watched) or ()
        of_all = {each.cohort: mean for each, mean in zip(tested, found, strict=False)}
    compared = [each.logarithm for each in of_all.values()] or means
    outcome = _test(tested, compared)
    wanted = in_pairs and outcome.p is not None
    pairs = compare_pairs(tested, compared, of_all=bool(of_all)) if wanted else ()
    errors = sorted(mean.check_error for mean in means)
    in_step = any(mean.in_step for mean in means)
    return StageComparison(
        stage=stage,
        unit=unit,
        groups=tuple(
            _summary(each, of_all.get(each.cohort), bool(shared.things)) for each in samples
        ),
        left_out=tuple(each.cohort for each in samples if not each.watched),
        counted=Counted.EVERYBODY if of_all else Counted.COMPLETED,
        test=outcome.test,
        statistic=outcome.statistic,
        p=outcome.p,
        p_holm=None,
        verdict=verdict(outcome.p),
        shown_alone=False,
        reason=outcome.reason,
        clustered_by=shared.things,
        # of the first thing that they share: of cages, where both are known
        intraclass=intraclass([(each.values, each.clusters[0]) for each in tested])
        if shared.things
        else None,
        difference=pairs[0].medians if len(samples) == 2 and pairs else None,
        pairs=pairs,
        resolution=Z_95 * math.hypot(*errors[-2:]) if in_step and len(means) > 1 else None,
    )


def _test(tested: Sequence[CohortValues], means: Sequence[CheckedMean]) -> LocationTest:
    """The test of the means of all cohorts, where there are enough of them and of their cages."""
    sizes = tuple(len(each.values) for each in tested)
    if len(tested) < 2:
        return LocationTest("none", None, None, sizes, NoTest.TOO_FEW)
    fewest = min(number_of(each.clusters) or FEWEST_CLUSTERS for each in tested)
    if fewest < FEWEST_CLUSTERS:
        reason = NoTest.ONE_CLUSTER if fewest == 1 else NoTest.FEW_CLUSTERS
        return LocationTest("none", None, None, sizes, reason)
    return mean_test(means)


def _summary(sample: CohortValues, of_all: MeanOfAll | None, clustered: bool) -> GroupSummary:
    usual = summarise(sample.values)
    return GroupSummary(
        cohort=sample.cohort,
        n=usual.n,
        mean=usual.mean,
        sd=usual.sd,
        se=sample.mean.se if sample.mean else None,
        median=usual.median,
        mean_of=sample.open.mean_of,
        left_open=sample.open,
        mean_of_all=of_all.mean if of_all else None,
        mean_of_all_low=of_all.interval[0] if of_all else None,
        mean_of_all_high=of_all.interval[1] if of_all else None,
        clusters=number_of(sample.clusters) if clustered else None,
        letters=None,
    )
