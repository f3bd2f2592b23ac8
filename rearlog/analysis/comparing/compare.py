"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import ClassVar

import numpy as np

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.cohorts import (
    ComparedCohort,
    Shared,
    Sharing,
    names_of,
    sharing,
)
from rearlog.analysis.comparing.means_of_all import MeanOfAll, WatchedCohort, means_of_all, times_of
from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_between
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf, left_open
from rearlog.analysis.stages.stage_times import (
    StageTimes,
    completed,
    stage_times,
    stage_times_of,
)
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.clusters import Clusters, chosen, intraclass, number_of
from rearlog.analysis.statistics.differences import (
    FEWEST_FOR_TEST,
    Difference,
    LocationTest,
    MediansDrawn,
    NoTest,
    Ratio,
    Verdict,
    holm,
    mean_test,
    resampled_medians,
    verdict,
)
from rearlog.analysis.statistics.levels import Z_95
from rearlog.analysis.statistics.pairs import PairOfMeans, letters, pairs_of_means

DAYS, DEGREE_DAYS = "days", "degree-days C"
WHOLE = "whole development"

FEWEST_CLUSTERS = 3
"""Cages or clutches in each cohort below which no test is made: two and two can be dealt out in six
ways, so that a third of all deals sets the cohorts as far apart as any does."""


MOST_IN_PAIRS = 10
"""More cohorts than this are compared two by two only where that is asked for: the pairs of 50 are
1,225, of which nobody reads the list, while the tests of all of them at once stay as they are."""


class Counted(StrEnum):
    """Whose times a test compares."""

    COMPLETED = "those_that_completed_it"
    """Nobody else was watched for as long: their means."""
    EVERYBODY = "everybody"
    """Those too that were not seen to complete it: means of ln time (see `means_of_all`)."""


@dataclass(frozen=True, slots=True)
class GroupSummary:
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


@dataclass(frozen=True, slots=True)
class PairDifference:
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


@dataclass(frozen=True, slots=True)
class StageComparison:
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
    def by_mean(self) -> tuple[GroupSummary, ...]:
        """The cohorts of which somebody completed it, the lowest mean first."""
        known = [(each.mean, each) for each in self.groups if each.mean is not None]
        return tuple(each for _, each in sorted(known, key=lambda item: item[0]))

    def pair(self, cohort: str, other: str) -> PairDifference | None:
        """The pair of two cohorts, the first of them first; None where they were not tested."""
        for each in self.pairs:
            if (each.cohort, each.other) == (cohort, other):
                return each
            if (each.cohort, each.other) == (other, cohort):
                return each.turned
        return None


@dataclass(frozen=True, slots=True, repr=False)
class Comparison(Answer):
    """Cohorts compared, stage by stage, as a whole, and in survival.

    `species` are those of the cohorts, each once: of several, stages of the same name are compared
    whatever they are. `days_only` are cohorts without temperatures or without a threshold; `gaps`
    are those in the temperatures of the others. All may be of the same `clutches_divided` among
    them. Of many cohorts only all at once were compared, and none `in_pairs`. Where groups are
    compared, `by` is the factor that parts them, and the level of
    `not_known` individuals is not known, so that they are in none. Cohorts of one group differ
    in what they are `pooled_over` besides, as in temperature, which may be `inseparable` from it.
    """

    main: ClassVar[str] = "stages.groups"

    cohorts: tuple[str, ...]
    species: tuple[str, ...]
    stages: tuple[StageComparison, ...]
    survival: SurvivalComparison
    days_only: tuple[str, ...]
    gaps: tuple[TemperatureGaps, ...]
    clutches_divided: bool
    by: str | None = None
    not_known: int = 0
    pooled_over: tuple[str, ...] = ()
    inseparable: bool = False
    in_pairs: bool = True

    @property
    def whole(self) -> tuple[StageComparison, ...]:
        """The whole development, in each unit; none where nobody completed it."""
        return self._of(WHOLE)

    @property
    def overall(self) -> tuple[StageComparison, ...]:
        """The whole development, or else the last stage or span that was compared, in each unit."""
        return self.whole or self._of(self.stages[-1].stage if self.stages else WHOLE)

    def _of(self, stage: str) -> tuple[StageComparison, ...]:
        return tuple(each for each in self.stages if each.stage == stage)


def compare(
    cohorts: Sequence[ComparedCohort],
    first: str | None = None,
    until: str | None = None,
    *,
    in_pairs: bool | None = None,
) -> Comparison:
    """Compare cohorts stage by stage and as a whole, or in the one span that is asked for.

    A cohort without a heat curve is compared in days only.

    In days and in degree-days, with Holm's correction over the stages; the whole development is
    tested by itself. Where nobody else was watched for as long, the midpoint durations of those
    that completed the stage are compared by their means, with the error of the checks (Welch; see
    `mean_test` and `checked_mean`); else everybody counts (see `means_of_all`). Means are those of
    individuals, and their errors those of cages or clutches, where individuals share them; with
    fewer than FEWEST_CLUSTERS of them in a cohort no test is made. Pairs: see `pairs_of_means`; of
    more than MOST_IN_PAIRS cohorts only with `in_pairs`.
    Bootstrap intervals for the differences of medians; survival by `survival_between`. From the
    last stage on there is nothing to complete: only how long they lived in it is compared.

    Raises UsageError for fewer than two cohorts, one given twice, or a span that is none.
    """
    names = names_of(cohorts, "a comparison needs two cohorts or more")
    shared = sharing(cohorts)
    if in_pairs is None:
        in_pairs = len(cohorts) <= MOST_IN_PAIRS
    stages: list[StageComparison] = []
    ends = {each.history.stages[-1] for each in cohorts}
    lasting = until is None and ends == {first}
    for unit in () if lasting else (DAYS, DEGREE_DAYS):
        if first is None and until is None:
            stages += _every_stage(cohorts, shared, unit, in_pairs)
        else:
            spans = [stage_times_of(each.history, first, until)[0] for each in cohorts]
            name = f"{spans[0].first} to {spans[0].until}"
            stages += _corrected([_compared(name, unit, cohorts, spans, shared, in_pairs)])
    return Comparison(
        names,
        tuple(sorted({each.species for each in cohorts})),
        tuple(stages),
        survival_between(cohorts, first, until),
        tuple(each.cohort for each in cohorts if each.curve is None and not lasting),
        tuple(gaps for each in cohorts if (gaps := each.gaps) is not None and not lasting),
        shared.divided,
        in_pairs=in_pairs,
    )


def _every_stage(
    cohorts: Sequence[ComparedCohort], shared: Sharing, unit: str, in_pairs: bool
) -> list[StageComparison]:
    """Every stage that somebody in some cohort completed, then the whole."""
    known = dict.fromkeys(code for each in cohorts for code in each.history.stages[:-1])
    rows = [
        _compared(stage, unit, cohorts, _spans(cohorts, stage), shared, in_pairs) for stage in known
    ]
    ends = (each.history.stages for each in cohorts)
    whole = [
        stage_times(each.history, stages[0], stages[-1])
        for each, stages in zip(cohorts, ends, strict=True)
    ]
    return _corrected(rows) + _corrected([_compared(WHOLE, unit, cohorts, whole, shared, in_pairs)])


def _spans(cohorts: Sequence[ComparedCohort], stage: str) -> list[StageTimes | None]:
    return [
        stage_times(each.history, stage) if stage in each.history.stages[:-1] else None
        for each in cohorts
    ]


def _corrected(rows: Sequence[StageComparison]) -> list[StageComparison]:
    """The rows in which somebody completed something, with Holm's correction and what it says."""
    rows = [row for row in rows if any(group.n for group in row.groups)]
    adjusted = holm([row.p for row in rows])
    return [_judged(row, p) for row, p in zip(rows, adjusted, strict=True)]


def _judged(row: StageComparison, p_holm: float | None) -> StageComparison:
    """The row with what its corrected p says of it, and of its pairs."""
    found = verdict(p_holm)
    alone = found is Verdict.NOT_SHOWN and verdict(row.p) is Verdict.DIFFER
    pairs = tuple(replace(pair, verdict=_of_pair(found, pair)) for pair in row.pairs)
    groups = row.groups
    tested = [each for each in row.by_mean if each.cohort not in row.left_out]
    if row.pairs:
        place = {each.cohort: number for number, each in enumerate(tested)}
        differ = [
            (place[pair.cohort], place[pair.other])
            for pair in pairs
            if pair.verdict is Verdict.DIFFER
        ]
        told = dict(zip(place, letters(len(tested), differ), strict=True))
        groups = tuple(replace(each, letters=told.get(each.cohort)) for each in groups)
    return replace(row, groups=groups, p_holm=p_holm, verdict=found, shown_alone=alone, pairs=pairs)


def _of_pair(stage: Verdict, pair: PairDifference) -> Verdict:
    """What is said of a pair: of two cohorts what is said of the stage, and of more no difference
    where the stage shows none."""
    alone = verdict(pair.p)
    return stage if alone is Verdict.DIFFER else alone


@dataclass(frozen=True, eq=False)
class CohortValues:
    """What was seen of one cohort: the values (n,) of those that completed it, of what cages they
    are, their mean where there are enough for a test, and the widths of the intervals in which the
    passages fell that were looked for; who was left open, and the spans it comes from."""

    cohort: str
    values: Floats
    clusters: Clusters
    mean: CheckedMean | None
    widths: Floats
    open: LeftOpen
    spans: StageTimes | None

    @property
    def median_error(self) -> float:
        """The SD of the error of the median that no number of individuals lessens."""
        grid = float(np.sqrt(np.mean(self.widths**2) / 12))
        return max(grid, self.mean.check_error if self.mean else 0.0)


def _values(
    cohort: ComparedCohort, spans: StageTimes | None, clusters: Clusters, unit: str
) -> CohortValues:
    if spans is None or (unit == DEGREE_DAYS and cohort.curve is None):
        nothing = np.empty(0)
        return CohortValues(cohort.cohort, nothing, (), None, nothing, LeftOpen(0, 0, 0), None)
    values, passages, who = completed(spans, cohort.curve if unit == DEGREE_DAYS else None)
    own = chosen(clusters, who)
    mean = checked_mean(values, passages, own) if len(values) >= FEWEST_FOR_TEST else None
    widths = np.concatenate([bounds[:, 1] - bounds[:, 0] for bounds in passages])
    return CohortValues(cohort.cohort, values, own, mean, widths, left_open(spans), spans)


def _compared(
    stage: str,
    unit: str,
    cohorts: Sequence[ComparedCohort],
    spans: Sequence[StageTimes | None],
    shared: Sharing,
    in_pairs: bool,
) -> StageComparison:
    samples = [
        _values(each, span, clusters, unit)
        for each, span, clusters in zip(cohorts, spans, shared.of, strict=True)
    ]
    places = [place for place, each in enumerate(samples) if each.mean is not None]
    tested = [samples[place] for place in places]
    means = [each.mean for each in tested if each.mean is not None]
    everybody = None
    if len(tested) > 1 and any(each.open.n for each in tested):
        everybody = means_of_all(
            [_watched(cohorts[place], samples[place], shared.of[place], unit) for place in places]
        )
    compared = means if everybody is None else [each.logarithm for each in everybody]
    outcome = _test(tested, compared)
    pairs = _pairs(tested, compared, everybody) if in_pairs and outcome.p is not None else ()
    of_all = {} if everybody is None else dict(zip(places, everybody, strict=True))
    errors = sorted(mean.check_error for mean in means)
    in_step = any(mean.in_step for mean in means)
    return StageComparison(
        stage=stage,
        unit=unit,
        groups=tuple(
            _summary(each, of_all.get(place), bool(shared.things))
            for place, each in enumerate(samples)
        ),
        left_out=tuple(each.cohort for each in samples if each.mean is None),
        counted=Counted.COMPLETED if everybody is None else Counted.EVERYBODY,
        test=outcome.test,
        statistic=outcome.statistic,
        p=outcome.p,
        p_holm=None,
        verdict=verdict(outcome.p),
        shown_alone=False,
        reason=outcome.reason,
        clustered_by=shared.things,
        intraclass=_intraclass(tested) if shared.things else None,
        difference=pairs[0].medians if len(samples) == 2 and pairs else None,
        pairs=pairs,
        resolution=Z_95 * math.hypot(*errors[-2:]) if in_step and len(means) > 1 else None,
    )


def _watched(
    cohort: ComparedCohort, sample: CohortValues, clusters: Clusters, unit: str
) -> WatchedCohort:
    assert sample.spans is not None
    assert sample.mean is not None
    times, who = times_of(sample.spans, cohort.curve if unit == DEGREE_DAYS else None)
    return WatchedCohort(times, chosen(clusters, who), sample.mean)


def _test(tested: Sequence[CohortValues], means: Sequence[CheckedMean]) -> LocationTest:
    """The test of the means of all cohorts, where there are enough of them and of their cages."""
    sizes = tuple(len(each.values) for each in tested)
    if len(tested) < 2:
        return LocationTest("none", None, None, sizes, NoTest.TOO_FEW)
    counts = [number_of(each.clusters) for each in tested]
    fewest = min((count for count in counts if count is not None), default=FEWEST_CLUSTERS)
    if fewest < FEWEST_CLUSTERS:
        reason = NoTest.ONE_CLUSTER if fewest == 1 else NoTest.FEW_CLUSTERS
        return LocationTest("none", None, None, sizes, reason)
    return mean_test(means)


def _intraclass(tested: Sequence[CohortValues]) -> float | None:
    """That of the first thing that they share: of cages, where both are known."""
    return intraclass([(each.values, each.clusters[0]) for each in tested])


def _pairs(
    tested: Sequence[CohortValues],
    means: Sequence[CheckedMean],
    everybody: Sequence[MeanOfAll] | None,
) -> tuple[PairDifference, ...]:
    """All pairs, whose medians rest on the same draws of each cohort."""
    # drawing individuals again tells nothing of cages, nor of those that it leaves out
    sound = everybody is None and not any(each.clusters for each in tested)
    drawn = resampled_medians([each.values for each in tested]) if sound else None
    return tuple(_pair(tested, test, drawn, everybody) for test in pairs_of_means(means))


def _pair(
    tested: Sequence[CohortValues],
    test: PairOfMeans,
    drawn: MediansDrawn | None,
    everybody: Sequence[MeanOfAll] | None,
) -> PairDifference:
    one, other = tested[test.first], tested[test.second]
    gap = test.difference
    more, fewer = gap.low is not None and gap.low > 0, gap.high is not None and gap.high < 0
    ratio = None
    if everybody is not None:
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
