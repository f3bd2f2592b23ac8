"""Thermal constants from cohorts at different temperatures: threshold, constant, rate curve."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rearlog.analysis.comparing.cohorts import ComparedCohort, names_of
from rearlog.analysis.comparing.rate_models import (
    Briere,
    IkemotoTakai,
    LinearRate,
    briere,
    ikemoto_takai,
    linear_rate,
)
from rearlog.analysis.stages.stage_times import COMPLETED, StageTimes, stage_times
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.straight_line import NoFit
from rearlog.records.errors import UsageError

NEAR_C = 0.5
"""Cohorts whose mean temperatures lie closer than this (°C) are not two temperatures."""


@dataclass(frozen=True, slots=True)
class RatePoint:
    """One cohort in one stage: mean temperature (°C) that its n individuals had while in it.

    `days` is their mean duration (midpoint estimates), `days_se` its error, that of the checks
    included, `rate` its inverse, and `residual` (1/day) how far that lies above the straight line.
    `used` is False for a cohort left out by name.
    """

    cohort: str
    temperature: float
    temperature_sd: float | None
    days: float
    days_se: float | None
    rate: float
    residual: float | None
    n: int
    used: bool


@dataclass(frozen=True, slots=True)
class StageThermal:
    """What the points of one stage (or `first–until` span) give; None with a reason where nothing.

    `no_*` say why a model is None.
    """

    stage: str
    points: tuple[RatePoint, ...]
    linear: LinearRate | None
    no_linear: str | None
    ikemoto_takai: IkemotoTakai | None
    no_ikemoto_takai: str | None
    curve: Briere | None
    no_curve: str | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Thermal:
    """Thermal constants of each stage and of the whole development."""

    species: str
    cohorts: tuple[str, ...]
    left_out: tuple[str, ...]
    stages: tuple[StageThermal, ...]
    notices: tuple[str, ...]


def thermal(cohorts: Sequence[ComparedCohort], leave_out: Collection[str] = ()) -> Thermal:
    """Fit development rate against temperature, stage by stage.

    A point is a cohort's mean duration at the mean temperature that each individual had while in
    the stage, from the cohort's own records; of their heat curves only the °C count. Models:
    `rate_models`. Raises UsageError for fewer than two cohorts, one given twice, different
    species, or an unknown name to leave out.
    """
    names = names_of(cohorts, "a thermal constant needs cohorts at two temperatures, better three")
    species = {each.species for each in cohorts}
    if len(species) > 1:
        raise UsageError(f"the cohorts are of different species: {', '.join(sorted(species))}")
    unknown = set(leave_out) - set(names)
    if unknown:
        raise UsageError(
            f"there is no cohort {', '.join(sorted(unknown))} to leave out",
            f"the cohorts are {', '.join(names)}",
        )
    stages = cohorts[0].history.stages
    asked = [*[(stage, None) for stage in stages[:-1]], (stages[0], stages[-1])]
    fitted = [_stage(cohorts, first, until, leave_out) for first, until in asked]
    return Thermal(
        species.pop(),
        tuple(names),
        tuple(sorted(leave_out)),
        tuple(each for each in fitted if each.points),
        tuple(
            f"{each.cohort} has no temperatures, so it gives no points"
            for each in cohorts
            if each.curve is None
        ),
    )


def _stage(
    cohorts: Sequence[ComparedCohort], first: str, until: str | None, leave_out: Collection[str]
) -> StageThermal:
    name = first if until is None else f"{first} to {until}"
    points = tuple(
        point
        for each in cohorts
        if (point := _point(each, first, until, each.cohort not in leave_out)) is not None
    )
    used = [point for point in points if point.used]
    celsius = np.array([point.temperature for point in used])
    days = np.array([point.days for point in used])
    too_few = _too_few(celsius)
    if too_few is not None:
        fits: list[LinearRate | IkemotoTakai | Briere | NoFit] = [NoFit(too_few)] * 3
    else:
        fits = [fit(celsius, days) for fit in (linear_rate, ikemoto_takai, briere)]
    linear, axis, curve = fits
    line = linear if isinstance(linear, LinearRate) else None
    bent = curve if isinstance(curve, Briere) else None
    return StageThermal(
        name,
        points if line is None else tuple(_with_residual(each, line) for each in points),
        line,
        _reason(linear),
        axis if isinstance(axis, IkemotoTakai) else None,
        _reason(axis),
        bent,
        _reason(curve),
        (*_line_words(line, _reason(linear)), *_curve_words(bent)),
    )


def _with_residual(point: RatePoint, line: LinearRate) -> RatePoint:
    return replace(point, residual=point.rate - float(line.rate(point.temperature)))


def _too_few(celsius: np.ndarray) -> str | None:
    if len(celsius) < 2:
        return "fewer than two cohorts have finished it with known temperatures"
    if np.ptp(celsius) < NEAR_C:
        return f"the cohorts had the same temperature, within {NEAR_C:g} °C"
    return None


def _point(each: ComparedCohort, first: str, until: str | None, used: bool) -> RatePoint | None:
    spans: StageTimes = stage_times(each.history, first, until)
    over = spans.which(COMPLETED)
    if each.curve is None or not over.any():
        return None
    start, end = spans.start[over].mean(axis=1), spans.end[over].mean(axis=1)
    # who passed through between two checks was somewhere in the time between them
    first_day = np.where(end > start, start, spans.start[over, 0])
    last_day = np.where(end > start, end, spans.end[over, 1])
    warmth = each.curve.mean_celsius(first_day, last_day)
    known = ~np.isnan(warmth)
    days = (end - start)[known]
    if days.sum() <= 0:
        return None  # nobody is known, or all passed through between two checks: no rate
    mean = checked_mean(days, [bounds[over][known] for bounds in spans.looked_for])
    return RatePoint(
        cohort=each.cohort,
        temperature=float(warmth[known].mean()),
        temperature_sd=float(warmth[known].std(ddof=1)) if len(days) > 1 else None,
        days=float(days.mean()),
        days_se=mean.se if mean else None,
        rate=1 / float(days.mean()),
        residual=None,
        n=len(days),
        used=used,
    )


def _reason(fit: LinearRate | IkemotoTakai | Briere | NoFit) -> str | None:
    return fit.reason if isinstance(fit, NoFit) else None


def _line_words(line: LinearRate | None, reason: str | None) -> tuple[str, ...]:
    """What the straight line says, how sure it is, and how far it was drawn out."""
    if line is None:
        return (f"No line: {reason}.",)
    if line.threshold_low is None or line.constant_low is None:
        finding = (
            f"Lower threshold {line.threshold:.1f} °C, thermal constant {line.constant:.0f} "
            "degree-days, from two temperatures only: there is no telling how far off they are."
        )
    else:
        finding = (
            f"Lower threshold {line.threshold:.1f} °C (95 % interval {line.threshold_low:.1f} to "
            f"{line.threshold_high:.1f}), thermal constant {line.constant:.0f} degree-days "
            f"({line.constant_low:.0f} to {line.constant_high:.0f}), from {line.n} cohorts."
        )
    low, high = min(line.celsius), max(line.celsius)
    measured = f"Measured from {low:.1f} to {high:.1f} °C"
    if line.threshold < low:
        measured += f"; the threshold is extrapolated to {low - line.threshold:.1f} °C below that"
    return finding, f"{measured}."


def _curve_words(curve: Briere | None) -> tuple[str, ...]:
    """Where the curve is highest, and whether any cohort was that warm."""
    if curve is None:
        return ()
    text = f"The curve is highest at {curve.optimum:.1f} ± {curve.optimum_se:.1f} °C"
    if curve.optimum > max(curve.celsius):
        text += ", beyond the warmest cohort: that is extrapolated"
    return (f"{text}.",)
