"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.cohorts import ComparedCohort, names_of
from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_between
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.stage_times import StageTimes, completed, stage_times, stage_times_of
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.differences import (
    FEWEST_FOR_TEST,
    Difference,
    LocationTest,
    NoTest,
    Verdict,
    cohort_test,
    holm,
    mean_difference,
    median_difference,
    verdict,
)
from rearlog.analysis.statistics.kaplan_meier import Z_95

DAYS, DEGREE_DAYS = "days", "degree-days C"
WHOLE = "whole development"


@dataclass(frozen=True, slots=True)
class GroupSummary:
    """One cohort in one stage, over those that completed it; `se` counts the error of the checks
    (see `checked_mean`)."""

    cohort: str
    n: int
    mean: float | None
    sd: float | None
    se: float | None
    median: float | None


@dataclass(frozen=True, slots=True)
class PairDifference:
    """`cohort` less `other`, with intervals: the medians (bootstrap) and the means (Welch).

    `longer` is the one that took more on average, None where the interval of the means holds 0.
    """

    cohort: str
    other: str
    medians: Difference
    means: Difference
    longer: str | None

    @property
    def longer_first(self) -> PairDifference:
        """The same pair, the one with the larger mean first."""
        if self.means.estimate >= 0:
            return self
        return PairDifference(
            self.other, self.cohort, self.medians.turned, self.means.turned, self.longer
        )


@dataclass(frozen=True, slots=True)
class StageComparison:
    """One stage (or the whole) compared between cohorts, in days or degree-days.

    `p_holm` is corrected for the number of stages, and `verdict` is what it says; `shown_alone`
    where p, without the correction, would say that they differ, and `p_holm` does not. Cohorts with
    too few for a test are `left_out` of it; where none could be made, `reason` says why.
    `difference` is that of the medians of two cohorts; `pairs` has all, of means too. Where
    somebody looks once a day, medians stand on whole days and the means say more. `resolution`,
    where a cohort passed in step, is the smallest difference that the checks could show, in the
    unit, however many individuals.
    """

    stage: str
    unit: str
    groups: tuple[GroupSummary, ...]
    left_out: tuple[str, ...]
    test: str
    statistic: float | None
    p: float | None
    p_holm: float | None
    verdict: Verdict
    shown_alone: bool
    reason: NoTest | None
    difference: Difference | None
    pairs: tuple[PairDifference, ...]
    resolution: float | None

    @property
    def by_mean(self) -> tuple[GroupSummary, ...]:
        """The cohorts of which somebody completed it, the lowest mean first."""
        known = [(each.mean, each) for each in self.groups if each.mean is not None]
        return tuple(each for _, each in sorted(known, key=lambda item: item[0]))


@dataclass(frozen=True, slots=True)
class Comparison:
    """Cohorts compared, stage by stage, as a whole, and in survival.

    `species` are those of the cohorts, each once: of several, stages of the same name are compared
    whatever they are. `days_only` are cohorts without temperatures or without a threshold; `gaps`
    are those in the temperatures of the others.
    """

    cohorts: tuple[str, ...]
    species: tuple[str, ...]
    stages: tuple[StageComparison, ...]
    survival: SurvivalComparison
    days_only: tuple[str, ...]
    gaps: tuple[TemperatureGaps, ...]

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
    cohorts: Sequence[ComparedCohort], first: str | None = None, until: str | None = None
) -> Comparison:
    """Compare cohorts stage by stage and as a whole, or in the one span that is asked for.

    A cohort without a heat curve is compared in days only.

    By midpoint durations of those that completed the stage, in days and in degree-days, with
    Holm's correction over the stages; bootstrap intervals for the differences of medians; survival
    by `survival_between`. The test is Mann–Whitney (two cohorts) or Kruskal–Wallis where the values
    stand on one grid, as where everybody is looked at once a day on the dot, and no cohort passed
    in step; else the means are compared, with the error of the checks (Welch; see `cohort_test` and
    `checked_mean`). The whole development is tested by itself, outside the correction.

    Raises UsageError for fewer than two cohorts, one given twice, or a span that is none.
    """
    names = names_of(cohorts, "a comparison needs two cohorts or more")
    stages: list[StageComparison] = []
    for unit in (DAYS, DEGREE_DAYS):
        if first is None and until is None:
            stages += _every_stage(cohorts, unit)
        else:
            spans = [stage_times_of(each.history, first, until)[0] for each in cohorts]
            name = f"{spans[0].first} to {spans[0].until}"
            stages += _corrected([_compared(name, unit, _values(cohorts, spans, unit))])
    return Comparison(
        names,
        tuple(sorted({each.species for each in cohorts})),
        tuple(stages),
        survival_between(cohorts, first, until),
        tuple(each.cohort for each in cohorts if each.curve is None),
        tuple(gaps for each in cohorts if (gaps := each.gaps) is not None),
    )


def _every_stage(cohorts: Sequence[ComparedCohort], unit: str) -> list[StageComparison]:
    """Every stage that somebody in some cohort completed, then the whole."""
    known = dict.fromkeys(code for each in cohorts for code in each.history.stages[:-1])
    rows = [
        _compared(stage, unit, _values(cohorts, _spans(cohorts, stage), unit)) for stage in known
    ]
    ends = (each.history.stages for each in cohorts)
    whole = [
        stage_times(each.history, stages[0], stages[-1])
        for each, stages in zip(cohorts, ends, strict=True)
    ]
    return _corrected(rows) + _corrected([_compared(WHOLE, unit, _values(cohorts, whole, unit))])


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
    found = verdict(p_holm)
    alone = found is Verdict.NOT_SHOWN and verdict(row.p) is Verdict.DIFFER
    return replace(row, p_holm=p_holm, verdict=found, shown_alone=alone)


@dataclass(frozen=True, eq=False)
class CohortValues:
    """The values (n,) of one cohort, their mean where there are enough for a test, and the widths
    of the intervals in which the passages fell that were looked for."""

    cohort: str
    values: Floats
    mean: CheckedMean | None
    widths: Floats

    @property
    def median_error(self) -> float:
        """The SD of the error of the median that no number of individuals lessens."""
        grid = float(np.sqrt(np.mean(self.widths**2) / 12))
        return max(grid, self.mean.check_error if self.mean else 0.0)


def _values(
    cohorts: Sequence[ComparedCohort], spans: Sequence[StageTimes | None], unit: str
) -> list[CohortValues]:
    found = []
    for each, one in zip(cohorts, spans, strict=True):
        if one is None or (unit == DEGREE_DAYS and each.curve is None):
            found.append(CohortValues(each.cohort, np.empty(0), None, np.empty(0)))
            continue
        values, passages = completed(one, each.curve if unit == DEGREE_DAYS else None)
        mean = checked_mean(values, passages) if len(values) >= FEWEST_FOR_TEST else None
        widths = np.concatenate([bounds[:, 1] - bounds[:, 0] for bounds in passages])
        found.append(CohortValues(each.cohort, values, mean, widths))
    return found


def _compared(stage: str, unit: str, samples: Sequence[CohortValues]) -> StageComparison:
    tested = [(each, each.mean) for each in samples if each.mean is not None]
    left_out = tuple(each.cohort for each in samples if each.mean is None)
    if len(tested) < 2:
        outcome = LocationTest("none", None, None, (), NoTest.TOO_FEW)
    else:
        outcome = cohort_test(
            [each.values for each, _ in tested],
            [mean for _, mean in tested],
            np.concatenate([each.widths for each, _ in tested]),
        )
    pairs = tuple(
        _pair(one, other, mean_difference(a, b)) for (one, a), (other, b) in combinations(tested, 2)
    )
    errors = sorted(mean.check_error for _, mean in tested)
    in_step = any(mean.in_step for _, mean in tested)
    return StageComparison(
        stage=stage,
        unit=unit,
        groups=tuple(_summary(each) for each in samples),
        left_out=left_out,
        test=outcome.test,
        statistic=outcome.statistic,
        p=outcome.p,
        p_holm=None,
        verdict=verdict(outcome.p),
        shown_alone=False,
        reason=outcome.reason,
        difference=pairs[0].medians if len(samples) == 2 and pairs else None,
        pairs=pairs,
        resolution=Z_95 * (errors[-1] ** 2 + errors[-2] ** 2) ** 0.5
        if in_step and len(tested) > 1
        else None,
    )


def _pair(one: CohortValues, other: CohortValues, means: Difference) -> PairDifference:
    more, fewer = means.low is not None and means.low > 0, means.high is not None and means.high < 0
    longer = one.cohort if more else other.cohort if fewer else None
    return PairDifference(one.cohort, other.cohort, _medians(one, other), means, longer)


def _summary(sample: CohortValues) -> GroupSummary:
    usual = summarise(sample.values)
    se = sample.mean.se if sample.mean else None
    return GroupSummary(sample.cohort, usual.n, usual.mean, usual.sd, se, usual.median)


def _medians(one: CohortValues, other: CohortValues) -> Difference:
    """The difference of medians, its interval widened by what drawing individuals again does not
    show: the error that the checks share, and that a median stands on the grid of the checks, so
    that it is off by anything up to half of it."""
    medians = median_difference(one.values, other.values)
    if medians.low is None or medians.high is None:
        return medians
    hidden = Z_95 * float(np.hypot(one.median_error, other.median_error))
    return Difference(
        medians.estimate,
        medians.estimate - float(np.hypot(medians.estimate - medians.low, hidden)),
        medians.estimate + float(np.hypot(medians.high - medians.estimate, hidden)),
    )
