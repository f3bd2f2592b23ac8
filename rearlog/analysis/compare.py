"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from rearlog.analysis.differences import (
    Difference,
    LocationTest,
    holm,
    location_test,
    median_difference,
)
from rearlog.analysis.durations import COMPLETED, Durations, summarise
from rearlog.analysis.kaplan_meier import LogRank, log_rank
from rearlog.records.errors import UsageError

Floats = npt.NDArray[np.float64]

DAYS, DEGREE_DAYS = "days", "degree-days C"
DIFFERENT = 0.05
"""A difference is called shown where the corrected p is below this."""


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
    """The median of `cohort` less that of `other`, with its 95 % bootstrap interval."""

    cohort: str
    other: str
    estimate: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class StageComparison:
    """One stage (or the whole) compared between cohorts, in days or degree-days.

    `p_holm` is corrected for the number of stages. Where no test could be made, `reason` says why.
    `difference` is given for two cohorts, `pairs` for all.
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
    of medians; the same in degree-days; log-rank for survival from entry. The whole development
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
        row = _compared(cohorts, "whole development", unit, whole)
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
    outcome: LocationTest = location_test(values)
    groups = []
    for each, group in zip(cohorts, values, strict=True):
        summary = summarise(group)
        groups.append(
            GroupSummary(each.cohort, summary.n, summary.mean, summary.sd, summary.median)
        )
    pairs = []
    for (one, a), (other, b) in combinations(zip(cohorts, values, strict=True), 2):
        if len(a) and len(b):
            gap = median_difference(a, b)
            pairs.append(PairDifference(one.cohort, other.cohort, gap.estimate, gap.low, gap.high))
    difference = None
    if len(cohorts) == 2 and pairs:
        difference = Difference(pairs[0].estimate, pairs[0].low, pairs[0].high)
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
        tuple(pairs),
        "",
    )


def _words(row: StageComparison) -> str:
    """What the comparison says, in a sentence that claims no more than it can."""
    unit = "days" if row.unit == DAYS else "degree-days"
    sizes = ", ".join(f"{each.cohort} n = {each.n}" for each in row.groups)
    if row.p_holm is None:
        return f"{row.stage}: no test ({row.reason}; {sizes})."
    if len(row.pairs) == 1:
        return _pair_words(row, row.pairs[0], unit, sizes)
    medians = ", ".join(
        f"{each.median:.1f} in {each.cohort}" for each in row.groups if each.median is not None
    )
    if row.p_holm < DIFFERENT:
        return (
            f"{row.stage}: the cohorts differ ({p_text(row.p_holm)}); medians {medians} "
            f"{unit} ({sizes})."
        )
    return (
        f"{row.stage}: no difference shown ({p_text(row.p_holm)}), which does not say that they "
        f"are the same; medians {medians} {unit} ({sizes})."
    )


def _pair_words(row: StageComparison, pair: PairDifference, unit: str, sizes: str) -> str:
    interval = (
        f", 95 % interval {pair.low:.1f} to {pair.high:.1f}"
        if pair.low is not None and pair.high is not None
        else ""
    )
    assert row.p_holm is not None
    if row.p_holm >= DIFFERENT:
        return (
            f"{row.stage}: no difference shown ({p_text(row.p_holm)}), which does not say that "
            f"they are the same; {pair.cohort} less {pair.other} is {pair.estimate:.1f} {unit}"
            f"{interval} ({sizes})."
        )
    if pair.estimate == 0:
        return (
            f"{row.stage}: {pair.cohort} and {pair.other} differ in their spread of values, "
            f"though their medians are equal ({p_text(row.p_holm)}; {sizes})."
        )
    more = "more" if pair.estimate > 0 else "fewer"
    if pair.low is not None and pair.high is not None and pair.estimate < 0:
        interval = f", 95 % interval {-pair.high:.1f} to {-pair.low:.1f}"
    return (
        f"{row.stage}: {pair.cohort} took {abs(pair.estimate):.1f} {unit} {more} than "
        f"{pair.other} (median{interval}; {p_text(row.p_holm)}; {sizes})."
    )


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
