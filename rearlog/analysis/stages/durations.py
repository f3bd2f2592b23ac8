"""How long stages took: each individual's, as far as daily checks can tell, and their summary."""

from __future__ import annotations

from itertools import compress
from statistics import median

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Booleans, Floats, all_finite
from rearlog.analysis.heat.gap_filling import TemperatureGaps, gaps_in
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.expected import (
    Basis,
    Expectation,
    Timing,
    basis,
    expectation,
    expected_days,
    verdict,
)
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf, left_open
from rearlog.analysis.stages.stage_times import (
    StageOutcome,
    StageTimes,
    completed,
    median_of,
    npmle,
    stage_times_of,
)
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.interval_median import QUARTILES, Bounds, IntervalMedian
from rearlog.analysis.statistics.turnbull import Turnbull
from rearlog.records.profile import Profile


class Summary(Struct, frozen=True):
    """n values (days, or degree-days) in the usual figures; None where n does not allow one."""

    n: int
    mean: float | None
    sd: float | None
    min: float | None
    median: float | None
    max: float | None


class IndividualDuration(Struct, frozen=True):
    """One individual in one stage, in days.

    `days` is the midpoint estimate, certainly between `low` and `high` (`high` is None while the
    stage is not over, or the individual's end is not known). `outcome`: completed, in stage, died,
    lost, removed, or start unknown. `expected` is the range that the profile leads one to expect;
    `outside` says that the true duration cannot lie in it.
    """

    individual: str
    stage: str
    days: float | None
    low: float | None
    high: float | None
    outcome: str
    degree_days: float | None
    expected: tuple[float, float] | None
    outside: Timing | None


class StageDuration(Struct, frozen=True):
    """A stage of the whole cohort, in days: how many entered and what became of them.

    `se` and the 95 % limits `mean_low` and `mean_high` count the error of the checks, of which
    `check_error` (an SD) is the same for all individuals; where that is a large part of it they
    passed `in_step` (see `checked_mean`). `mean_of` says for whom the mean stands, and `left_open`
    who was not seen to complete it although watched for as long. When a quarter, half and three
    quarters had completed it lies within the `quartile_bounds`, those of the median being
    `median_bounds`, and the median of all such individuals with 95 % confidence within the
    `median_limits` (see `interval_median`; an end that is not known is None). `npmle_quartiles` and
    `npmle_median` are the innermost intervals (low, high] of the NPMLE that hold them, which is no
    statement of where they lie. `verdict` is that of the mean on the `expected` range, from which
    it is `off_days` away, and `rests_on` what the range rests on; `outside` are the individuals
    that cannot have been in their own range.
    """

    stage: str
    entered: int
    completed: int
    died: int
    lost: int
    removed: int
    in_stage: int
    start_unknown: int
    mean: float | None
    sd: float | None
    se: float | None
    mean_low: float | None
    mean_high: float | None
    check_error: float | None
    in_step: bool
    mean_of: MeanOf
    left_open: LeftOpen
    min: float | None
    median: float | None
    max: float | None
    interval_width: float | None
    median_bounds: Bounds | None
    median_limits: Bounds | None
    quartile_bounds: tuple[Bounds | None, ...]
    npmle_median: tuple[float, float | None] | None
    npmle_quartiles: tuple[tuple[float, float | None] | None, ...]
    expected: tuple[float, float] | None
    rests_on: Basis
    verdict: Timing | None
    off_days: float | None
    outside: int


class Durations(Answer, frozen=True):
    """The durations of all stages (or of one span of them) in one cohort.

    `gaps` are those in its temperatures, where degree-days are counted.
    """

    cohort: str
    species: str
    unit: str
    stages: tuple[StageDuration, ...]
    individuals: tuple[IndividualDuration, ...]
    gaps: TemperatureGaps | None


def durations(
    cohort: str,
    profile: Profile,
    history: EventHistory,
    curve: HeatCurve | None,
    first: str | None = None,
    until: str | None = None,
) -> Durations:
    """Summarise stage durations; degree-days and heat-based ranges where there is a heat curve.

    The summary is of midpoint estimates over completed stages with a known start. Beside it
    stand bounds of the quartiles and limits of the median, and the NPMLE (Turnbull 1976,
    J. R. Stat. Soc. B 38:290–295); in these deaths and losses in the stage are right-censored.
    """
    stages: list[StageDuration] = []
    individuals: list[IndividualDuration] = []
    stage_by_stage = first is None and until is None
    for each in stage_times_of(history, first, until):
        if not each.entered.any():
            continue
        hope = expectation(profile, each.first, each.until, curve.settings if curve else None)
        name = each.first if stage_by_stage else f"{each.first} to {each.until}"
        details = _individuals(name, each, hope, curve)
        individuals += details
        stages.append(_stage(name, each, hope, details, curve))
    place = {code: number for number, code in enumerate(history.codes)}
    individuals.sort(key=lambda one: place[one.individual])  # stable: stages stay in order
    return Durations(
        cohort,
        profile.scientific_name,
        "days",
        tuple(stages),
        tuple(individuals),
        None if curve is None else gaps_in(cohort, curve.temperatures),
    )


def summarise(values: Floats) -> Summary:
    """The usual figures of n values; the SD needs two of them."""
    n = len(values)
    if n == 0:
        return Summary(0, None, None, None, None, None)
    return Summary(
        n,
        float(values.mean()),
        float(values.std(ddof=1)) if n > 1 else None,
        float(values.min()),
        median(values.tolist()),
        float(values.max()),
    )


def _individuals(
    name: str, spans: StageTimes, hope: Expectation, curve: HeatCurve | None
) -> list[IndividualDuration]:
    starts, ends = spans.start.mean(axis=1), spans.end.mean(axis=1)
    low, high, days = spans.low, spans.high, spans.midpoint
    over = spans.which(StageOutcome.COMPLETED)
    heat = np.full(len(days), np.nan)
    if curve is not None:
        heat[over] = curve.between(starts[over], ends[over])
    least, most = expected_days(hope, starts, curve)
    shorter, longer = high < least, low > most
    known = map(all_finite, (days, low, high, heat, least, most))
    rows = zip(spans.codes, spans.outcome.tolist(), _beyond(shorter, longer), *known, strict=True)
    return [
        IndividualDuration(
            individual=code,
            stage=name,
            days=days,
            low=low,
            high=high,
            outcome=outcome,
            degree_days=heat,
            expected=None if least is None or most is None else (least, most),
            outside=off,
        )
        for code, outcome, off, days, low, high, heat, least, most in compress(rows, spans.entered)
    ]


def _stage(
    name: str,
    spans: StageTimes,
    hope: Expectation,
    details: list[IndividualDuration],
    curve: HeatCurve | None,
) -> StageDuration:
    over = spans.which(StageOutcome.COMPLETED)
    summary = summarise(spans.midpoint[over])
    values, passages, _ = completed(spans)
    left = left_open(spans)
    mean = checked_mean(values, passages)
    mean_low, mean_high = mean.interval if mean else (None, None)
    estimate, middle_of = npmle(spans), median_of(spans)
    known = spans.start[spans.start_known]
    middle = float(known.mean()) if len(known) else np.nan
    least, most = expected_days(hope, np.array([middle]), curve)
    expected = _pair(least[0], most[0])
    found, off = (None, None) if summary.mean is None else verdict(summary.mean, expected)
    return StageDuration(
        stage=name,
        entered=int(spans.entered.sum()),
        completed=summary.n,
        died=int(spans.which(StageOutcome.DIED).sum()),
        lost=int(spans.which(StageOutcome.LOST).sum()),
        removed=int(spans.which(StageOutcome.REMOVED).sum()),
        in_stage=int(spans.which(StageOutcome.IN_STAGE).sum()),
        start_unknown=int(spans.which(StageOutcome.START_UNKNOWN).sum()),
        mean=summary.mean,
        sd=summary.sd,
        se=mean.se if mean else None,
        mean_low=None if mean_low is None else max(0.0, mean_low),
        mean_high=mean_high,
        check_error=mean.check_error if mean else None,
        in_step=mean.in_step if mean else False,
        mean_of=left.mean_of,
        left_open=left,
        min=summary.min,
        median=summary.median,
        max=summary.max,
        interval_width=float((spans.high - spans.low)[over].mean()) if summary.n else None,
        median_bounds=middle_of.quartiles[1] if middle_of else None,
        median_limits=_limits(middle_of),
        quartile_bounds=middle_of.quartiles if middle_of else (None, None, None),
        npmle_median=_quantile(estimate, 0.5),
        npmle_quartiles=tuple(_quantile(estimate, p) for p in QUARTILES),
        expected=expected,
        rests_on=basis(hope, middle, curve),
        verdict=found,
        off_days=off,
        outside=sum(1 for one in details if one.outside),
    )


def _beyond(shorter: Booleans, longer: Booleans) -> list[Timing | None]:
    """Which durations certainly lie beyond their expected range, and where; all of shape (n,)."""
    return [
        Timing.SHORTER if less else Timing.LONGER if more else None
        for less, more in zip(shorter.tolist(), longer.tolist(), strict=True)
    ]


def _limits(found: IntervalMedian | None) -> Bounds | None:
    """The limits of the population's median, of which the lower one at least is known."""
    if found is None or found.population_low is None:
        return None
    return found.population_low, found.population_high


def _quantile(estimate: Turnbull | None, p: float) -> tuple[float, float | None] | None:
    return None if estimate is None else estimate.quantile(p)


def _pair(low: float, high: float) -> tuple[float, float] | None:
    return (float(low), float(high)) if np.isfinite(low) and np.isfinite(high) else None
