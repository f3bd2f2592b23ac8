"""How long stages took in designs of several factors: which factors matter, and whether together.

Every combination of levels is a cell. Times are fitted as multiples of each other, those included
that were not seen to end, and each term of the design is tested against the design without it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import ClassVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.comparing.cohorts import ComparedCohort, Shared
from rearlog.analysis.comparing.compare import spans_of
from rearlog.analysis.comparing.design import Design, Term, contrasts, laid_out
from rearlog.analysis.comparing.means_of_all import times_of
from rearlog.analysis.comparing.stage_comparison import WHOLE
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.stage_times import StageTimes, completed
from rearlog.analysis.statistics.accelerated_life import (
    FEWEST_EVENTS,
    DesignFit,
    Times,
    design_fit,
    joined,
)
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.clusters import FEWEST_CLUSTERS
from rearlog.analysis.statistics.differences import Verdict, holm, verdict
from rearlog.analysis.statistics.student_t import limit_95
from rearlog.analysis.survival.watch import watched
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError

MOST_FACTORS = 3
TIMES = " × "
"""Between the factors of an interaction."""

DEATH = " to death"
"""Behind the last stage, what its times are: how long those lived that came into it."""


class NoDesign(StrEnum):
    """Why a stage could not be tested."""

    TOO_FEW = "too_few"
    """Fewer than FEWEST_EVENTS came to its end in some combination."""
    FEW_CLUSTERS = "few_clusters"
    """Fewer than FEWEST_CLUSTERS clusters in some combination."""


class Cell(Struct, frozen=True):
    """One combination of levels, in the order of the factors: `n` entered with a start that is
    known, `completed` were seen to end; the fitted mean of all in days with its 95 % limits, none
    where one time fits all that was seen, so that nothing in it says how far they scatter."""

    levels: tuple[str, ...]
    n: int
    completed: int
    clusters: int | None
    mean: float | None
    low: float | None
    high: float | None


class Effect(Struct, frozen=True):
    """What one term of a design adds to those without it that do not contain it.

    `chi2` is twice what the log-likelihood gains by it, with `df` degrees of freedom; where whole
    clusters are counted, or the error that checks share, Wald's. `p` is that of F with df and
    `freedom`; `p_holm` is corrected for the number of stages, and `verdict` is what it says.
    """

    term: str
    df: int
    chi2: float
    f: float
    freedom: float
    p: float
    p_holm: float | None
    verdict: Verdict


class LevelRatio(Struct, frozen=True):
    """How many times as long those of a level took as those of the `reference`, over the levels of
    the other factors alike, with 95 % limits."""

    factor: str
    level: str
    reference: str
    ratio: float
    low: float
    high: float


class StageDesign(Struct, frozen=True):
    """One stage (or the whole) in a design; without `effects`, `reason` says why.

    `in_step`: most of some combination passed between the same two checks.
    """

    stage: str
    cells: tuple[Cell, ...]
    family: str | None
    effects: tuple[Effect, ...]
    ratios: tuple[LevelRatio, ...]
    reason: NoDesign | None
    in_step: bool = False


class Factorial(Answer, frozen=True):
    """Stages in a design of several factors.

    `complete` says whether all combinations of levels were there: else only the factors by
    themselves are tested, not whether they act together. Where individuals share cohorts (several
    of one level), containers or clutches, whole ones of `clustered_by` are counted.
    `not_known` individuals have no level of some factor and are left out.
    """

    main: ClassVar[str] = "stages.effects"

    cohorts: tuple[str, ...]
    species: tuple[str, ...]
    factors: tuple[str, ...]
    complete: bool
    clustered_by: Shared | None
    not_known: int
    stages: tuple[StageDesign, ...]

    @property
    def overall(self) -> StageDesign | None:
        """The whole development, or else the last stage or span; None where there is none."""
        return self.stages[-1] if self.stages else None


class _Seen(Struct, frozen=True, eq=False):
    """One span in one cohort of N: who `entered` it (N,); what was seen of the times of those of
    `which` (N,); the days (m,) of those that completed it, who of all they are, and the bounds
    (m, 2) of the passages that were looked for."""

    entered: Booleans
    times: Times
    which: Booleans
    days: Floats
    bounds: tuple[Floats, ...]
    who: Integers


def factorial(
    cohorts: Sequence[ComparedCohort],
    factors: Sequence[str],
    first: str | None = None,
    until: str | None = None,
) -> Factorial:
    """Test the factors of a design, stage by stage and as a whole, or in the one span asked for.

    ln time is a sum of what the levels add, with all interactions where all combinations were
    there, and a scatter of one shape (see `design_fit`; the family is that of the least AIC where
    each combination is by itself). A term is tested by the likelihood ratio of the design of all
    terms that do not contain it, with it and without it, referred to F = (exp(χ²/events) − 1) ·
    freedom/df, which is exact for log-normal times that are all known (derived from their t test);
    where individuals share clusters, by Wald's test on the covariance of whole clusters. A factor
    that sets whole cohorts apart has cohorts for its unit, not individuals: where a level of it is
    of several, cohorts are the clusters, and as in the comparison of groups by one factor it takes
    FEWEST_CLUSTERS of them, here in each combination; where each level is of one, cohorts are
    compared as they are. The error that the checks share in each combination (see `checked_mean`)
    adds to the variance of its logarithm, as it would of a mean; p is then the larger of that of
    the likelihood ratio and that of Wald's test with it. p are corrected for the number of stages
    (Holm), those of the whole development not. Ratios are those of the geometric means over the
    other factors' levels, each counted alike. From the last stage on the end is death.
    Raises UsageError for fewer than two or more than MOST_FACTORS factors, and where factors
    cannot be told apart because their levels go together.
    """
    if not 1 < len(set(factors)) == len(factors) <= MOST_FACTORS:
        remedy = CommandText("such as --by food,temperature", "such as food and temperature")
        raise UsageError(f"a design has 2 to {MOST_FACTORS} different factors", remedy)
    design, shared = laid_out(cohorts, tuple(factors))
    spans = _spans(cohorts, first, until)
    rows = [_stage(stage, seen, design) for stage, seen in spans]
    not_known = sum(
        int(((cells < 0) & np.any([seen[place].entered for _, seen in spans], axis=0)).sum())
        for place, cells in enumerate(design.cell_of)
    )
    rows = [row for row in rows if any(each.completed for each in row.cells)]
    alone = [row for row in rows if row.stage != WHOLE]
    return Factorial(
        tuple(each.cohort for each in cohorts),
        tuple(sorted({each.species for each in cohorts})),
        tuple(factors),
        design.complete,
        shared,
        not_known,
        (*_corrected(alone), *_corrected([row for row in rows if row.stage == WHOLE])),
    )


def _spans(
    cohorts: Sequence[ComparedCohort], first: str | None, until: str | None
) -> list[tuple[str, list[_Seen]]]:
    histories = [each.history for each in cohorts]
    if any(each.stages != histories[0].stages for each in histories):
        raise UsageError("the cohorts are not of the same stages", "choose cohorts of one species")
    if first == histories[0].stages[-1] and until is None:
        return [(f"{first}{DEATH}", [_lives(each, first) for each in histories])]
    return [
        (stage, [_seen(each) for each in spans if each is not None])
        for stage, spans in spans_of(histories, first, until)
    ]


def _seen(span: StageTimes) -> _Seen:
    times, which = times_of(span)
    days, bounds, who = completed(span)
    return _Seen(span.entered, times, which, days, tuple(bounds), who)


def _lives(history: EventHistory, first: str) -> _Seen:
    """How long those lived that were seen in the last stage, in days from the look that showed it;
    who was not seen to die, as long as it was watched at the least."""
    lives = watched(history, first)
    some = lives.high > 0
    which = lives.who.copy()
    which[lives.who] = some
    low, high = lives.low[some], lives.high[some]
    died = np.isfinite(high)
    bounds = np.column_stack((low, high))[died]
    who = np.flatnonzero(which)[died]
    times = Times(low, high, np.zeros(len(low)))
    return _Seen(lives.who, times, which, bounds.mean(axis=1), (bounds,), who)


def _stage(stage: str, spans: Sequence[_Seen], design: Design) -> StageDesign:
    times, labels = _times(spans, design)
    counts = [
        None if each is None else len(np.unique(each[np.isfinite(time.high)]))
        for time, each in zip(times, labels, strict=True)
    ]
    bare = tuple(
        Cell(levels, len(each.low), each.events, count, None, None, None)
        for levels, each, count in zip(design.cells, times, counts, strict=True)
    )
    reason = None
    if min(each.events for each in times) < FEWEST_EVENTS:
        reason = NoDesign.TOO_FEW
    elif any(count is not None and count < FEWEST_CLUSTERS for count in counts):
        reason = NoDesign.FEW_CLUSTERS
    if reason is not None:
        return StageDesign(stage, bare, None, (), (), reason)
    family = design_fit(times, np.eye(len(times))).family
    clusters = None
    if design.cluster_of is not None:
        clusters = np.concatenate([each for each in labels if each is not None])
    means = [_mean(cell, spans, design) for cell in range(len(design.cells))]
    shared = np.array(
        [each.check_error / each.mean if each and each.mean > 0 else 0.0 for each in means]
    )
    fit = _Fitter(times, design, family, clusters, shared)
    terms = design.terms
    whole = fit(terms)
    return StageDesign(
        stage,
        tuple(
            _fitted(cell, row, whole, bounded=not _one_fits_all(each))
            for cell, row, each in zip(bare, design.columns(terms), times, strict=True)
        ),
        family,
        tuple(_effect(term, terms, fit) for term in terms),
        tuple(_ratios(whole, design)),
        None,
        any(each is not None and each.in_step for each in means),
    )


def _mean(cell: int, spans: Sequence[_Seen], design: Design) -> CheckedMean | None:
    """The mean of those of a combination that completed it, whose error the checks share."""
    own = [design.cell_of[place][each.who] == cell for place, each in enumerate(spans)]
    days = np.concatenate([each.days[of_it] for each, of_it in zip(spans, own, strict=True)])
    ends = [
        np.concatenate([each.bounds[end][of_it] for each, of_it in zip(spans, own, strict=True)])
        for end in range(min(len(each.bounds) for each in spans))
    ]
    return checked_mean(days, ends)


def _one_fits_all(times: Times) -> bool:
    """Whether one time could be that of all of a combination."""
    reach = times.start_width / 2
    return bool((times.low - reach).max() < (times.high + reach).min())


class _Fitter(Struct, frozen=True, eq=False):
    """Fits of the terms of a design to what was seen of each cell; `shared` (cells,) are the errors
    of the logarithm of its mean that the checks make in all of it."""

    times: Sequence[Times]
    design: Design
    family: str
    clusters: Integers | None
    shared: Floats

    def __call__(self, terms: Sequence[Term], *, checks: bool = True) -> DesignFit:
        columns = self.design.columns(terms)
        found = design_fit(self.times, columns, self.family, self.clusters)
        if not checks:
            return found
        by_cell = np.linalg.pinv(columns) * self.shared
        return replace(found, covariance=found.covariance + by_cell @ by_cell.T)

    @property
    def events(self) -> int:
        return sum(each.events for each in self.times)


def _times(spans: Sequence[_Seen], design: Design) -> tuple[list[Times], list[Integers | None]]:
    """What was seen of the times of each cell, and the clusters of these individuals."""
    seen = [each.which for each in spans]
    every, cells = joined([each.times for each in spans]), _those(design.cell_of, seen)
    clusters = None if design.cluster_of is None else _those(design.cluster_of, seen)
    of_each = [cells == cell for cell in range(len(design.cells))]
    return (
        [every.of(rows) for rows in of_each],
        [None if clusters is None else clusters[rows] for rows in of_each],
    )


def _those(labels: Sequence[Integers], which: Sequence[Booleans]) -> Integers:
    """The labels of those individuals of each cohort, of all cohorts in one."""
    return np.concatenate([each[rows] for each, rows in zip(labels, which, strict=True)])


def _effect(term: Term, terms: Sequence[Term], fit: _Fitter) -> Effect:
    """The test of one term against all that do not contain it."""
    from scipy.special import fdtrc  # start-up time

    others = [each for each in terms if not set(term) <= set(each)]
    name = TIMES.join(fit.design.factors[place] for place in term)
    df = fit.design.df(term)
    with_it = fit([*others, term])
    found = []
    if fit.clusters is None:
        without = fit(others, checks=False)
        chi2 = max(0.0, 2 * (with_it.log_likelihood - without.log_likelihood))
        f = math.expm1(min(chi2 / fit.events, 500.0)) * with_it.freedom / df
        found.append((f, chi2))
    if fit.clusters is not None or fit.shared.any():
        added = with_it.coefficients[-df:]
        chi2 = float(added @ np.linalg.solve(with_it.covariance[-df:, -df:], added))
        found.append((chi2 / df, chi2))
    f, chi2 = min(found)
    p = float(fdtrc(df, with_it.freedom, f))
    return Effect(name, df, chi2, f, with_it.freedom, p, None, verdict(p))


def _fitted(cell: Cell, row: Floats, whole: DesignFit, *, bounded: bool) -> Cell:
    middle = float(row @ whole.coefficients) + whole.log_mean
    if not bounded:
        return replace(cell, mean=math.exp(middle))
    reach = limit_95(whole.freedom) * _error(row, whole)
    return replace(
        cell, mean=math.exp(middle), low=math.exp(middle - reach), high=math.exp(middle + reach)
    )


def _error(row: Floats, whole: DesignFit) -> float:
    return math.sqrt(max(float(row @ whole.covariance @ row), 0.0))


def _ratios(whole: DesignFit, design: Design) -> list[LevelRatio]:
    """Each level beside the first of its factor: what its own columns say, since those of the
    interactions sum to 0 over the levels of the others."""
    found = []
    start = 1
    for place, known in enumerate(design.levels):
        own = slice(start, start + len(known) - 1)
        start = own.stop
        of_level = contrasts(known)
        for number, level in enumerate(known[1:], start=1):
            row = np.zeros(len(whole.coefficients))
            row[own] = of_level[number] - of_level[0]
            middle = float(row @ whole.coefficients)
            reach = limit_95(whole.freedom) * _error(row, whole)
            found.append(
                LevelRatio(
                    design.factors[place],
                    level,
                    known[0],
                    math.exp(middle),
                    math.exp(middle - reach),
                    math.exp(middle + reach),
                )
            )
    return found


def _corrected(rows: Sequence[StageDesign]) -> list[StageDesign]:
    """The rows with Holm's correction of each term over them."""
    tested = [place for place, row in enumerate(rows) if row.effects]
    found = list(rows)
    if tested:
        by_term = zip(*(rows[place].effects for place in tested), strict=True)
        adjusted = [holm([each.p for each in effects]) for effects in by_term]
        for number, place in enumerate(tested):
            effects = tuple(
                replace(each, p_holm=term[number], verdict=verdict(term[number]))
                for each, term in zip(rows[place].effects, adjusted, strict=True)
            )
            found[place] = replace(rows[place], effects=effects)
    return found
