"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.cohorts import ComparedCohort, names_of
from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_difference
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.stage_times import StageTimes, completed, stage_times, stage_times_of
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.differences import (
    FEWEST_FOR_TEST,
    Difference,
    LocationTest,
    cohort_test,
    holm,
    mean_difference,
    median_difference,
)
from rearlog.analysis.statistics.kaplan_meier import Z_95
from rearlog.analysis.statistics.levels import DIFFERENT, LEAST_TOLD
from rearlog.analysis.statistics.wording import listed, p_text
from rearlog.analysis.survival.survival import watched

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
    """`cohort` less `other`, with 95 % intervals: the medians (bootstrap) and the means (Welch)."""

    cohort: str
    other: str
    medians: Difference
    means: Difference


@dataclass(frozen=True, slots=True)
class StageComparison:
    """One stage (or the whole) compared between cohorts, in days or degree-days.

    `p_holm` is corrected for the number of stages. Cohorts with too few for a test are
    `left_out` of it; where none could be made, `reason` says why. `difference` is that of the
    medians of two cohorts; `pairs` has all, of means too. Where somebody looks once a day, medians
    stand on whole days and the means say more. `resolution`, where a cohort passed in step, is the
    smallest difference that the checks could show, in the unit, however many individuals.
    """

    stage: str
    unit: str
    groups: tuple[GroupSummary, ...]
    left_out: tuple[str, ...]
    test: str
    statistic: float | None
    p: float | None
    p_holm: float | None
    reason: str | None
    difference: Difference | None
    pairs: tuple[PairDifference, ...]
    resolution: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Cohorts compared, stage by stage, as a whole, and in survival."""

    cohorts: tuple[str, ...]
    stages: tuple[StageComparison, ...]
    survival: SurvivalComparison
    notices: tuple[str, ...]


def compare(
    cohorts: Sequence[ComparedCohort], first: str | None = None, until: str | None = None
) -> Comparison:
    """Compare cohorts stage by stage and as a whole, or in the one span that is asked for.

    A cohort without a heat curve is compared in days only.

    By midpoint durations of those that completed the stage, in days and in degree-days, with
    Holm's correction over the stages; bootstrap intervals for the differences of medians; log-rank
    for survival. The test is Mann–Whitney (two cohorts) or Kruskal–Wallis where the values stand on
    one grid, as where everybody is looked at once a day on the dot, and no cohort passed in step;
    else the means are compared, with the error of the checks (Welch; see `cohort_test` and
    `checked_mean`). The whole development is tested by itself, outside the correction.

    Raises UsageError for fewer than two cohorts, one given twice, or a span that is none.
    """
    names = names_of(cohorts, "a comparison needs two cohorts or more")
    species = {each.species for each in cohorts}
    notices = []
    if len(species) > 1:
        notices.append(
            f"The cohorts are of different species ({', '.join(sorted(species))}): "
            "stages of the same name are compared, whatever they are."
        )
    notices += [
        f"{each.cohort} has no temperatures, or its species no lower threshold: "
        "it is compared in days only."
        for each in cohorts
        if each.curve is None
    ]
    stages: list[StageComparison] = []
    for unit in (DAYS, DEGREE_DAYS):
        if first is None and until is None:
            stages += _every_stage(cohorts, unit)
        else:
            spans = [stage_times_of(each.history, first, until)[0] for each in cohorts]
            name = f"{spans[0].first} to {spans[0].until}"
            stages += _corrected([_compared(name, unit, _samples(cohorts, spans, unit))])
    lives = [watched(each.history, first, until) for each in cohorts]
    return Comparison(names, tuple(stages), survival_difference(names, lives), tuple(notices))


def _every_stage(cohorts: Sequence[ComparedCohort], unit: str) -> list[StageComparison]:
    """Every stage that somebody in some cohort completed, then the whole."""
    known = dict.fromkeys(code for each in cohorts for code in each.history.stages[:-1])
    rows = [
        _compared(stage, unit, _samples(cohorts, _spans(cohorts, stage), unit)) for stage in known
    ]
    ends = (each.history.stages for each in cohorts)
    whole = [
        stage_times(each.history, stages[0], stages[-1])
        for each, stages in zip(cohorts, ends, strict=True)
    ]
    return _corrected(rows) + _corrected([_compared(WHOLE, unit, _samples(cohorts, whole, unit))])


def _spans(cohorts: Sequence[ComparedCohort], stage: str) -> list[StageTimes | None]:
    return [
        stage_times(each.history, stage) if stage in each.history.stages[:-1] else None
        for each in cohorts
    ]


def _corrected(rows: Sequence[StageComparison]) -> list[StageComparison]:
    """The rows in which somebody completed something, with Holm's correction, and words."""
    rows = [row for row in rows if any(group.n for group in row.groups)]
    adjusted = holm([row.p for row in rows])
    rows = [replace(row, p_holm=p) for row, p in zip(rows, adjusted, strict=True)]
    return [replace(row, words=_words(row)) for row in rows]


@dataclass(frozen=True, eq=False)
class _Sample:
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


def _samples(
    cohorts: Sequence[ComparedCohort], spans: Sequence[StageTimes | None], unit: str
) -> list[_Sample]:
    found = []
    for each, one in zip(cohorts, spans, strict=True):
        if one is None or (unit == DEGREE_DAYS and each.curve is None):
            found.append(_Sample(each.cohort, np.empty(0), None, np.empty(0)))
            continue
        values, passages = completed(one, each.curve if unit == DEGREE_DAYS else None)
        mean = checked_mean(values, passages) if len(values) >= FEWEST_FOR_TEST else None
        widths = np.concatenate([bounds[:, 1] - bounds[:, 0] for bounds in passages])
        found.append(_Sample(each.cohort, values, mean, widths))
    return found


def _compared(stage: str, unit: str, samples: Sequence[_Sample]) -> StageComparison:
    tested = [(each, each.mean) for each in samples if each.mean is not None]
    left_out = tuple(each.cohort for each in samples if each.mean is None)
    if len(tested) < 2:
        outcome = LocationTest("none", None, None, (), _too_few(left_out, unit))
    else:
        outcome = cohort_test(
            [each.values for each, _ in tested],
            [mean for _, mean in tested],
            np.concatenate([each.widths for each, _ in tested]),
        )
    pairs = tuple(
        PairDifference(
            one.cohort,
            other.cohort,
            _medians(one, other),
            mean_difference(a, b),
        )
        for (one, a), (other, b) in combinations(tested, 2)
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
        reason=outcome.reason,
        difference=pairs[0].medians if len(samples) == 2 and pairs else None,
        pairs=pairs,
        resolution=Z_95 * (errors[-1] ** 2 + errors[-2] ** 2) ** 0.5
        if in_step and len(tested) > 1
        else None,
        words="",
    )


def _too_few(cohorts: Sequence[str], unit: str) -> str:
    known = "" if unit == DAYS else " at known temperatures"
    return f"fewer than {FEWEST_FOR_TEST} were followed to its end{known} in {listed(cohorts)}"


def _summary(sample: _Sample) -> GroupSummary:
    usual = summarise(sample.values)
    se = sample.mean.se if sample.mean else None
    return GroupSummary(sample.cohort, usual.n, usual.mean, usual.sd, se, usual.median)


def _medians(one: _Sample, other: _Sample) -> Difference:
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


def _words(row: StageComparison) -> str:
    """What the comparison says, in sentences that claim no more than it can."""
    tested = [each for each in row.groups if each.cohort not in row.left_out]
    if row.p_holm is None:
        return f"{row.stage}: no test, since {row.reason} ({_sizes(row.groups)})."
    shown = row.p_holm < DIFFERENT
    if len(row.pairs) == 1:
        text = _pair_words(row, row.pairs[0], shown)
    else:
        finding = "the cohorts differ" if shown else "no difference shown"
        means = listed([f"{each.mean:.1f} in {each.cohort}" for each in tested])
        text = f"{row.stage}: {finding}; on average {means} {_unit(row)}"
    text += f" ({p_text(row.p_holm)}; {_sizes(tested)})."
    if row.p is not None and row.p < DIFFERENT and not shown:
        text += (
            f" By itself it would count as a difference ({p_text(row.p)}), but among so many "
            "stages chance alone makes one."
        )
    if row.left_out:
        text += f" Left out: {_too_few(row.left_out, row.unit)}."
    if row.resolution is not None and not shown:
        text += (
            f" Less than {row.resolution:.1f} {_unit(row)} cannot be shown here, since most passed "
            "between the same two checks."
        )
    return text


def _pair_words(row: StageComparison, pair: PairDifference, shown: bool) -> str:
    """The finding of two cohorts, the longer one first."""
    gap, first, other = pair.means, pair.cohort, pair.other
    if gap.estimate < 0:
        gap, first, other = _turned(gap), other, first
    certain = gap.low is not None and gap.low > 0
    if shown and not certain:
        return (
            f"{row.stage}: {first} and {other} differ in how their values lie, though not clearly "
            "in their means"
        )
    verb = "took" if row.unit == DAYS else "needed"
    finding = (
        f"{first} and {other} {verb} about the same on average"
        if gap.estimate < LEAST_TOLD
        else f"{first} {verb} {gap.estimate:.1f} {_unit(row)} more than {other} on average"
    )
    if gap.low is not None and gap.high is not None:
        reach = f"{abs(gap.low):.1f} {'fewer' if gap.low < 0 else 'more'} to {gap.high:.1f} more"
        if gap.low > 0:
            reach = f"{gap.low:.1f} to {gap.high:.1f}"
        finding += f", 95 % interval {reach}"
        if row.p != row.p_holm:
            finding += " for this stage alone"
    return f"{row.stage}: {'' if shown else 'no difference shown; '}{finding}"


def _turned(gap: Difference) -> Difference:
    return Difference(
        -gap.estimate,
        None if gap.high is None else -gap.high,
        None if gap.low is None else -gap.low,
    )


def _unit(row: StageComparison) -> str:
    return "days" if row.unit == DAYS else "degree-days"


def _sizes(groups: Sequence[GroupSummary]) -> str:
    return f"n = {listed([str(each.n) for each in groups])}"
