"""Thermal constants from cohorts at different temperatures: threshold, constant, rate curve."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from enum import StrEnum
from functools import cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.cohorts import ComparedCohort, at_several_temperatures
from rearlog.analysis.comparing.heat_mortality import HeatMortality, heat_mortality
from rearlog.analysis.comparing.rate_curves import RateCurve, best_bent, rate_curves, why_no_bend
from rearlog.analysis.comparing.rate_models import (
    FEWEST_WEIGHED,
    NEAR_C,
    IkemotoTakai,
    LinearRate,
    NoRate,
    WeightedRate,
    ikemoto_takai,
    linear_rate,
    weighted_rate,
)
from rearlog.analysis.comparing.swinging_heat import (
    SWING_C,
    HeatAbove,
    SwingingHeat,
    daily_range,
    swinging_heat,
)
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, stage_times
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.records.errors import UsageError

LARGEST_SE = 3.0
"""°C. A threshold with a standard error above it is hardly known: common practice, no rule."""

COLDEST_THRESHOLD = -10.0
"""°C. No insect is known to develop so cold; the lowest thresholds published lie near 0 °C."""


class Objection(StrEnum):
    """What speaks against the straight line of a stage and its threshold."""

    NOT_STRAIGHT = "not_straight"
    """The cohorts' rates lie off the line by more than the individuals' scatter explains."""
    HOTTEST_NOT_FASTER = "hottest_not_faster"
    """The hottest cohort is no faster than the next: leave it out, or take a curve."""
    STILL_IN_STAGE = "still_in_stage"
    """Of some cohorts only the early ones have finished: their means are too short."""
    THRESHOLD_UNSURE = "threshold_unsure"
    """The standard error of the threshold is above LARGEST_SE, by the cohorts or by individuals."""
    THRESHOLD_TOO_COLD = "threshold_too_cold"
    """The threshold lies below COLDEST_THRESHOLD."""
    THRESHOLD_ABOVE_COLDEST = "threshold_above_coldest"
    """The threshold lies above the coldest cohort, which did develop."""


NOT_CREDIBLE = frozenset(
    {
        Objection.THRESHOLD_UNSURE,
        Objection.THRESHOLD_TOO_COLD,
        Objection.THRESHOLD_ABOVE_COLDEST,
    }
)
"""With one of these a threshold is not to be used."""


class RatePoint(Struct, frozen=True):
    """One cohort in one stage: mean temperature (°C) that its n individuals had while in it.

    `days` is their mean duration (midpoint estimates), `days_se` its error, that of the checks
    included, on `freedom` degrees of freedom; `rate` (1/day) is its inverse, with the error
    `rate_se` (see `rate_error`), and `residual` how far it lies above the straight line.
    `daily_range` is the mean difference (°C) between the extremes of a day meanwhile.
    `in_stage` more are still in it: the mean of those that have finished is too short. `used` is
    False for a cohort left out by name.
    """

    cohort: str
    temperature: float
    temperature_sd: float | None
    daily_range: float | None
    days: float
    days_se: float | None
    rate: float
    rate_se: float | None
    residual: float | None
    n: int
    in_stage: int
    used: bool
    freedom: float | None


class StageThermal(Struct, frozen=True):
    """What the points of one stage (or `first–until` span) give; None with a reason where nothing.

    `no_*` say why a model is None. `objections` speak against the line and its threshold.
    `curves` are the laws that the points allow, the best first, and `no_curve` says why none of
    them bends. `swinging` is None where all
    temperatures were as good as constant, or no threshold makes degree-days alike.
    """

    stage: str
    points: tuple[RatePoint, ...]
    linear: LinearRate | None
    no_linear: NoRate | None
    weighted: WeightedRate | None
    no_weighted: NoRate | None
    objections: tuple[Objection, ...]
    ikemoto_takai: IkemotoTakai | None
    no_ikemoto_takai: NoRate | None
    curves: tuple[RateCurve, ...]
    no_curve: NoRate | None
    swinging: SwingingHeat | None

    @property
    def best_curve(self) -> RateCurve | None:
        """The law that the points prefer, unless that is the straight line."""
        return best_bent(self.curves)


class Thermal(Answer, frozen=True):
    """Thermal constants of each stage and of the whole development.

    Of the cohorts, some may have been `left_out` by name; those `without_temperatures` give no
    points. `mortality` says of the same stages what part dies at which temperature.
    """

    species: str
    cohorts: tuple[str, ...]
    left_out: tuple[str, ...]
    without_temperatures: tuple[str, ...]
    stages: tuple[StageThermal, ...]
    mortality: tuple[HeatMortality, ...] = ()

    def shown(self, name: str | None = None) -> StageThermal | None:
        """The stage of that name, else the longest with a line, else the longest with points.

        Raises UsageError where the named stage has no points.
        """
        if name is not None:
            for each in self.stages:
                if each.stage == name:
                    return each
            names = ", ".join(each.stage for each in self.stages) or "there are none"
            raise UsageError(f"there is no rate of “{name}”", f"stages with rates: {names}")
        fitted = [each for each in self.stages if each.linear is not None] or self.stages
        return max(fitted, key=lambda each: max(point.days for point in each.points), default=None)

    def died_in(self, name: str | None = None) -> HeatMortality | None:
        """The mortality of the stage of that name, else of the whole development.

        Raises UsageError where nobody is known to have ended the named stage.
        """
        if name is None:
            return self.mortality[-1] if self.mortality else None
        for each in self.mortality:
            if each.stage == name:
                return each
        names = ", ".join(each.stage for each in self.mortality) or "there are none"
        raise UsageError(f"there is no mortality of “{name}”", f"stages that ended: {names}")


HeatAboveOf = Callable[[ComparedCohort], HeatAbove]


def thermal(cohorts: Sequence[ComparedCohort], leave_out: Collection[str] = ()) -> Thermal:
    """Fit development rate against temperature, stage by stage.

    A point is a cohort's mean duration at the mean temperature that each individual had while in
    the stage, from the cohort's own records; of their heat curves only the °C count. Models:
    `rate_models`. Raises UsageError for fewer than two cohorts, one given twice, different
    species, or an unknown name to leave out.
    """
    species, names = at_several_temperatures(
        cohorts, leave_out, "a thermal constant needs cohorts at two temperatures, better three"
    )
    stages = cohorts[0].history.stages
    asked = [*[(stage, None) for stage in stages[:-1]], (stages[0], stages[-1])]

    @cache  # a cohort's heat above many thresholds takes a while, and each stage asks for it
    def heat_above(each: ComparedCohort) -> HeatAbove:
        assert each.curve is not None
        return HeatAbove(each.curve)

    fitted = [_stage(cohorts, first, until, leave_out, heat_above) for first, until in asked]
    return Thermal(
        species,
        names,
        tuple(sorted(leave_out)),
        tuple(each.cohort for each in cohorts if each.curve is None),
        tuple(each for each in fitted if each.points),
        heat_mortality(cohorts, leave_out),
    )


def _stage(
    cohorts: Sequence[ComparedCohort],
    first: str,
    until: str | None,
    leave_out: Collection[str],
    heat_above: HeatAboveOf,
) -> StageThermal:
    name = first if until is None else f"{first} to {until}"
    every = [
        (_point(each, found, each.cohort not in leave_out), each, found)
        for each in cohorts
        if (found := _finished(each, first, until)) is not None
    ]
    points = tuple(point for point, _, _ in every)
    used = [point for point in points if point.used]
    celsius = np.array([point.temperature for point in used])
    days = np.array([point.days for point in used])
    hindered = _too_few(celsius)
    linear, axis = (hindered or fit(celsius, days) for fit in (linear_rate, ikemoto_takai))
    rates = 1 / days
    curves = () if hindered else rate_curves(celsius, rates, _errors(used))
    line = linear if isinstance(linear, LinearRate) else None
    weighted = hindered or _weighted(used)
    heavy = weighted if isinstance(weighted, WeightedRate) else None
    return StageThermal(
        name,
        points if line is None else tuple(_with_residual(each, line) for each in points),
        line,
        linear if isinstance(linear, NoRate) else None,
        heavy,
        weighted if isinstance(weighted, NoRate) else None,
        () if line is None else tuple(_objections(used, line, heavy)),
        axis if isinstance(axis, IkemotoTakai) else None,
        axis if isinstance(axis, NoRate) else None,
        curves,
        hindered or why_no_bend(celsius, rates, curves),
        None if hindered else _swinging([row for row in every if row[0].used], heat_above),
    )


def _weighted(points: Sequence[RatePoint]) -> WeightedRate | NoRate:
    """The weighted line, where the scatter within every cohort is known."""
    errors = _errors(points)
    if errors is None:
        return NoRate.FEW_ANIMALS
    celsius, rates = [each.temperature for each in points], [each.rate for each in points]
    return weighted_rate(celsius, rates, errors, [each.freedom or np.inf for each in points])


def _errors(points: Sequence[RatePoint]) -> list[float] | None:
    """The standard errors of the rates (1/day); None unless all are known from enough animals."""
    errors = [each.rate_se for each in points if each.rate_se and each.n >= FEWEST_WEIGHED]
    return errors if len(errors) == len(points) else None


def _objections(
    points: Sequence[RatePoint], line: LinearRate, weighted: WeightedRate | None
) -> Iterator[Objection]:
    """What speaks against a line through these points."""
    fit = weighted.lack_of_fit if weighted else None
    if fit is not None and fit.p < DIFFERENT:
        yield Objection.NOT_STRAIGHT
    hottest = max(points, key=lambda point: point.temperature)
    cooler = [point for point in points if hottest.temperature - point.temperature >= NEAR_C]
    if hottest.rate <= max(cooler, key=lambda point: point.temperature).rate:
        yield Objection.HOTTEST_NOT_FASTER
    if any(point.in_stage for point in points):
        yield Objection.STILL_IN_STAGE
    errors = (line.threshold_se, None if weighted is None else weighted.threshold_se)
    if any(se is not None and se > LARGEST_SE for se in errors):
        yield Objection.THRESHOLD_UNSURE
    if line.threshold < COLDEST_THRESHOLD:
        yield Objection.THRESHOLD_TOO_COLD
    if line.threshold > min(line.celsius):
        yield Objection.THRESHOLD_ABOVE_COLDEST


def _with_residual(point: RatePoint, line: LinearRate) -> RatePoint:
    return replace(point, residual=point.rate - float(line.rate(point.temperature)))


def _too_few(celsius: np.ndarray) -> NoRate | None:
    if len(celsius) < 2:
        return NoRate.FEW_COHORTS
    return NoRate.ONE_TEMPERATURE if np.ptp(celsius) < NEAR_C else None


class _Finished(Struct, frozen=True, eq=False):
    """Those of a cohort that finished a stage at known temperatures: from when to when (n,), which
    days to take the temperatures of, the temperatures (°C), and the days with their error."""

    first_day: Floats
    last_day: Floats
    celsius: Floats
    days: Floats
    mean: CheckedMean | None
    in_stage: int


def _finished(each: ComparedCohort, first: str, until: str | None) -> _Finished | None:
    spans: StageTimes = stage_times(each.history, first, until)
    over = spans.which(StageOutcome.COMPLETED)
    if each.curve is None or not over.any():
        return None
    start, end = spans.start[over].mean(axis=1), spans.end[over].mean(axis=1)
    first_day, last_day = spans.spent(over)
    warmth = each.curve.mean_celsius(first_day, last_day)
    known = ~np.isnan(warmth)
    days = (end - start)[known]
    if days.sum() <= 0:
        return None  # nobody is known, or all passed through between two checks: no rate
    mean = checked_mean(days, [bounds[over][known] for bounds in spans.looked_for])
    in_stage = int(spans.which(StageOutcome.IN_STAGE).sum())
    return _Finished(first_day[known], last_day[known], warmth[known], days, mean, in_stage)


def _point(each: ComparedCohort, found: _Finished, used: bool) -> RatePoint:
    assert each.curve is not None
    days, mean = float(found.days.mean()), found.mean
    return RatePoint(
        cohort=each.cohort,
        temperature=float(found.celsius.mean()),
        temperature_sd=float(found.celsius.std(ddof=1)) if len(found.days) > 1 else None,
        daily_range=daily_range(each.curve, found.first_day, found.last_day),
        days=days,
        days_se=mean.se if mean else None,
        rate=1 / days,
        rate_se=rate_error(days, mean.se) if mean else None,
        residual=None,
        n=len(found.days),
        in_stage=found.in_stage,
        used=used,
        freedom=mean.freedom if mean else None,
    )


def _swinging(
    used: Sequence[tuple[RatePoint, ComparedCohort, _Finished]], heat_above: HeatAboveOf
) -> SwingingHeat | None:
    """The threshold over the real temperatures, where those of some cohort rise and fall."""
    swing = max((point.daily_range or 0.0 for point, _, _ in used), default=0.0)
    if swing < SWING_C:
        return None
    heats = [
        heat_above(cohort).between(found.first_day, found.last_day).mean(axis=0)
        for _, cohort, found in used
    ]
    errors = [None if point.days_se is None else point.days_se / point.days for point, _, _ in used]
    return swinging_heat(heats, errors, swing)


def rate_error(days: float, days_se: float) -> float:
    """The standard error (1/day) of a rate 1/days, from that of the days: SE / days².

    Source: the delta method, to the first order (Seber 1982, The Estimation of Animal Abundance,
    2nd ed., section 1.3.3; cited from memory).
    """
    return days_se / days**2
