"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from rearlog.analysis.differences import (
    TINY,
    Difference,
    LocationTest,
    holm,
    location_test,
    mean_difference,
    mean_test,
    median_difference,
)
from rearlog.analysis.durations import COMPLETED, Durations, summarise
from rearlog.analysis.kaplan_meier import LogRank, log_rank
from rearlog.records.errors import UsageError

Floats = npt.NDArray[np.float64]

DAYS, DEGREE_DAYS = "days", "degree-days C"
WHOLE = "whole development"
DIFFERENT = 0.05
"""A difference is called shown where the corrected p is below this."""
SAME_SCHEDULE = 1.25
"""Cohorts whose mean intervals differ by no more than this factor were checked alike."""


@dataclass(frozen=True, eq=False)
class Compared:
    """One cohort as it enters a comparison.

    `durations` holds every stage, `whole` the span from the first stage to the last; `watched`
    and `died` (n,) are the days under watch and whether the individual then died.
    """

    cohort: str
    durations: Durations
    whole: Durations
    watched: Floats
    died: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class GroupSummary:
    """One cohort in one stage, over those that completed it."""

    cohort: str
    n: int
    mean: float | None
    sd: float | None
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

    `p_holm` is corrected for the number of stages. Where no test could be made, `reason` says why.
    `difference` is that of the medians of two cohorts; `pairs` has all, of means too. Where
    somebody looks once a day, medians stand on whole days and the means say more.
    """

    stage: str
    unit: str
    groups: tuple[GroupSummary, ...]
    test: str
    statistic: float | None
    p: float | None
    p_holm: float | None
    reason: str | None
    difference: Difference | None
    pairs: tuple[PairDifference, ...]
    words: str


@dataclass(frozen=True, slots=True)
class SurvivalComparison:
    """The log-rank test between the cohorts; None where none could be made."""

    chi2: float | None
    df: int
    p: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Cohorts compared, stage by stage, as a whole, and in survival."""

    cohorts: tuple[str, ...]
    stages: tuple[StageComparison, ...]
    survival: SurvivalComparison
    notices: tuple[str, ...]


def compare(cohorts: Sequence[Compared]) -> Comparison:
    """Compare cohorts.

    Per stage Mann–Whitney (two cohorts) or Kruskal–Wallis over the midpoint durations of those
    that completed it, Holm's correction over the stages, bootstrap intervals for the differences
    of medians; log-rank for survival from entry. Ranks need values on one grid: midpoints of
    daily checks, times the degrees of a cool and of a warm shelf, are not, and Mann–Whitney
    would call most pairs different that are not. So degree-days, and days of cohorts that were
    checked at different intervals, are compared by their means (Welch). The whole development
    is tested by itself, outside the correction. Raises UsageError for fewer than two cohorts, or
    one given twice.
    """
    names = [each.cohort for each in cohorts]
    if len(cohorts) < 2:
        raise UsageError("a comparison needs two cohorts or more")
    if len(set(names)) < len(names):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    species = {each.durations.species for each in cohorts}
    notices = []
    if len(species) > 1:
        notices.append(
            f"The cohorts are of different species ({', '.join(sorted(species))}): "
            "stages of the same name are compared, whatever they are."
        )
    return Comparison(
        tuple(names),
        (*_in_unit(cohorts, DAYS), *_in_unit(cohorts, DEGREE_DAYS)),
        _survival(cohorts),
        tuple(notices),
    )


def _in_unit(cohorts: Sequence[Compared], unit: str) -> list[StageComparison]:
    """Every stage that somebody in some cohort completed, then the whole."""
    stages = list(dict.fromkeys(row.stage for each in cohorts for row in each.durations.stages))
    rows = []
    for stage in stages:
        values = [_values(each.durations, stage, unit) for each in cohorts]
        if any(len(group) for group in values):
            rows.append(_compared(cohorts, stage, unit, values))
    adjusted = holm([row.p for row in rows])
    rows = [replace(row, p_holm=p) for row, p in zip(rows, adjusted, strict=True)]
    whole = [_values(each.whole, None, unit) for each in cohorts]
    if any(len(group) for group in whole):
        row = _compared(cohorts, WHOLE, unit, whole)
        rows.append(replace(row, p_holm=row.p))
    return [replace(row, words=_words(row)) for row in rows]


def _values(durations: Durations, stage: str | None, unit: str) -> Floats:
    chosen = (
        each.days if unit == DAYS else each.degree_days
        for each in durations.individuals
        if each.outcome == COMPLETED and stage in (None, each.stage)
    )
    return np.array([value for value in chosen if value is not None], dtype=float)


def _compared(
    cohorts: Sequence[Compared], stage: str, unit: str, values: list[Floats]
) -> StageComparison:
    same_grid = unit == DAYS and _checked_alike(cohorts, stage)
    outcome: LocationTest = location_test(values) if same_grid else mean_test(values)
    groups = []
    for each, group in zip(cohorts, values, strict=True):
        summary = summarise(group)
        groups.append(
            GroupSummary(each.cohort, summary.n, summary.mean, summary.sd, summary.median)
        )
    pairs = tuple(
        PairDifference(one.cohort, other.cohort, median_difference(a, b), mean_difference(a, b))
        for (one, a), (other, b) in combinations(zip(cohorts, values, strict=True), 2)
        if len(a) and len(b)
    )
    difference = pairs[0].medians if len(cohorts) == 2 and pairs else None
    return StageComparison(
        stage,
        unit,
        tuple(groups),
        outcome.test,
        outcome.statistic,
        outcome.p,
        None,
        outcome.reason,
        difference,
        pairs,
        "",
    )


def _checked_alike(cohorts: Sequence[Compared], stage: str) -> bool:
    """Whether the passages of all cohorts are known about equally well in a stage."""
    widths = []
    for each in cohorts:
        source = each.whole if stage == WHOLE else each.durations
        found = [
            one.high - one.low
            for one in source.individuals
            if one.outcome == COMPLETED
            and stage in (WHOLE, one.stage)
            and one.high is not None
            and one.low is not None
        ]
        if found:
            widths.append(float(np.mean(found)))
    return not widths or max(widths) <= SAME_SCHEDULE * min(widths)


def _words(row: StageComparison) -> str:
    """What the comparison says, in a sentence that claims no more than it can."""
    unit = "days" if row.unit == DAYS else "degree-days"
    sizes = ", ".join(f"{each.cohort} n = {each.n}" for each in row.groups)
    if row.p_holm is None:
        return f"{row.stage}: no test ({row.reason}; {sizes})."
    if len(row.pairs) == 1:
        return _pair_words(row, row.pairs[0], unit, sizes, row.p_holm)
    means = ", ".join(
        f"{each.mean:.1f} in {each.cohort}" for each in row.groups if each.mean is not None
    )
    if row.p_holm < DIFFERENT:
        return (
            f"{row.stage}: the cohorts differ ({p_text(row.p_holm)}); on average {means} {unit} "
            f"({sizes})."
        )
    return (
        f"{row.stage}: no difference shown ({p_text(row.p_holm)}), which does not say that they "
        f"are the same; on average {means} {unit} ({sizes})."
    )


def _pair_words(row: StageComparison, pair: PairDifference, unit: str, sizes: str, p: float) -> str:
    gap = pair.means
    if p >= DIFFERENT:
        return (
            f"{row.stage}: no difference shown ({p_text(p)}), which does not say that they are "
            f"the same; {pair.cohort} less {pair.other} is {gap.estimate:.1f} {unit}"
            f"{_interval(gap.low, gap.high)} ({sizes})."
        )
    if abs(gap.estimate) < TINY:
        return (
            f"{row.stage}: {pair.cohort} and {pair.other} differ in how their values lie, though "
            f"not in their means ({p_text(p)}; {sizes})."
        )
    more = gap.estimate > 0
    low, high = (gap.low, gap.high) if more else (_negative(gap.high), _negative(gap.low))
    return (
        f"{row.stage}: {pair.cohort} took {abs(gap.estimate):.1f} {unit} "
        f"{'more' if more else 'fewer'} than {pair.other} on average{_interval(low, high)}; "
        f"{p_text(p)} ({sizes})."
    )


def _negative(value: float | None) -> float | None:
    return None if value is None else -value


def _interval(low: float | None, high: float | None) -> str:
    return "" if low is None or high is None else f" (95 % interval {low:.1f} to {high:.1f})"


def p_text(p: float) -> str:
    """A p value as it is written: never zero."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def _survival(cohorts: Sequence[Compared]) -> SurvivalComparison:
    test: LogRank = log_rank([(each.watched, each.died) for each in cohorts])
    counts = ", ".join(
        f"{each.cohort} {int(each.died.sum())} of {len(each.died)} died" for each in cohorts
    )
    if test.p is None:
        return SurvivalComparison(None, test.df, None, f"Survival: no test; {counts}.")
    if test.p < DIFFERENT:
        return SurvivalComparison(
            test.chi2, test.df, test.p, f"Survival differs ({p_text(test.p)}): {counts}."
        )
    return SurvivalComparison(
        test.chi2,
        test.df,
        test.p,
        f"Survival: no difference shown ({p_text(test.p)}), which does not say that it is the "
        f"same: {counts}.",
    )
