"""The heat that a cohort had: degree-days day by day, and what each stage needed of them."""

from __future__ import annotations

from datetime import date

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import all_finite
from rearlog.analysis.heat.daily_temperatures import FILLED, MISSING, RECORDED, Temperatures
from rearlog.analysis.heat.gap_filling import TemperatureGaps, gaps_in
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.expected import OtherThresholds, Timing, expectation, verdict
from rearlog.analysis.stages.left_open import MeanOf, left_open
from rearlog.analysis.stages.progress import counted_from, watched_celsius
from rearlog.analysis.stages.stage_times import completed, stage_times_of
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.records.profile import Profile


class Coverage(Struct, frozen=True):
    """How many days the temperatures should cover, and how many of them are what."""

    days: int
    recorded: int
    filled: int
    missing: int


class HeatDay(Struct, frozen=True):
    """One calendar day: its degree-days and the running total (None once a day is unknown)."""

    date: date
    degree_days: float | None
    cumulative: float | None
    filled: bool


class StageHeat(Struct, frozen=True):
    """Degree-days that n individuals needed for a stage, and the profile's range for it.

    `se` and the 95 % limits `mean_low` and `mean_high` count the error of the checks (see
    `checked_mean`). `mean_of` says for whom the mean stands, `verdict` how it lies to the range.
    """

    stage: str
    n: int
    mean: float | None
    sd: float | None
    se: float | None
    min: float | None
    max: float | None
    expected: tuple[float, float] | None
    mean_low: float | None
    mean_high: float | None
    mean_of: MeanOf
    verdict: Timing | None


class ExpectedTotal(Struct, frozen=True):
    """The running total of degree-days at which a cohort is expected to come into a stage."""

    stage: str
    low: float
    high: float


class Heat(Answer, frozen=True):
    """The heat of a cohort, in degree-days °C.

    `expected_totals` are on the scale of the running total in `daily`. They count from where the
    expected events of `progress` do.
    `other_thresholds` say why the profile's ranges are left out where they do not hold.
    `clock_changes` are the days of 23 or 25 hours. `celsius` is the mean temperature (°C) until
    all had grown up, where known.
    """

    cohort: str
    lower: float
    upper: float | None
    method: str
    cutoff: str
    unit: str
    coverage: Coverage
    missing_dates: tuple[date, ...]
    gaps: TemperatureGaps | None
    daily: tuple[HeatDay, ...]
    stages: tuple[StageHeat, ...]
    other_thresholds: OtherThresholds | None
    clock_changes: tuple[date, ...]
    expected_totals: tuple[ExpectedTotal, ...]
    celsius: float | None

    @property
    def known_total(self) -> tuple[float, date | None]:
        """The last running total that is known, and its day (None where not even the first is)."""
        known = [(day.cumulative, day.date) for day in self.daily if day.cumulative is not None]
        return known[-1] if known else (0.0, None)


def coverage(temperatures: Temperatures) -> Coverage:
    """Count the days by what is known of their temperature."""
    counts = [int((temperatures.status == kind).sum()) for kind in (RECORDED, FILLED, MISSING)]
    return Coverage(len(temperatures.dates), *counts)


def heat(cohort: str, profile: Profile, history: EventHistory, curve: HeatCurve) -> Heat:
    """The degree-days of each day, and what each stage needed (from midpoint to midpoint)."""
    how = curve.settings
    stages, others = [], None
    for each in stage_times_of(history):
        if not each.entered.any():
            continue
        amounts, passages, _ = completed(each, curve)
        summary, mean = summarise(amounts), checked_mean(amounts, passages)
        hope = expectation(profile, each.first, each.until, how)
        others = others or hope.other_thresholds
        low, high = mean.interval if mean else (None, None)
        found = None if summary.mean is None else verdict(summary.mean, hope.heat)[0]
        stages.append(
            StageHeat(
                each.first,
                summary.n,
                summary.mean,
                summary.sd,
                mean.se if mean else None,
                summary.min,
                summary.max,
                hope.heat,
                None if low is None else max(0.0, low),
                high,
                left_open(each).mean_of,
                found,
            )
        )
    return Heat(
        cohort=cohort,
        lower=how.lower,
        upper=how.upper,
        method=how.method,
        cutoff=how.cutoff,
        unit="degree-days C",
        coverage=coverage(curve.temperatures),
        missing_dates=curve.temperatures.missing_dates,
        gaps=gaps_in(cohort, curve.temperatures),
        daily=_daily(curve),
        stages=tuple(stages),
        other_thresholds=others,
        clock_changes=_clock_changes(curve.temperatures),
        expected_totals=_expected_totals(profile, history, curve),
        celsius=watched_celsius(history, curve),
    )


def _expected_totals(
    profile: Profile, history: EventHistory, curve: HeatCurve
) -> tuple[ExpectedTotal, ...]:
    known = counted_from(history)
    if known is None:
        return ()
    first, start = known
    had = float(curve.at(start))
    found = []
    for stage in history.stages[first + 1 :]:
        hope = expectation(profile, history.stages[first], stage, curve.settings)
        if hope.heat is not None:
            low, high = hope.heat
            found.append(ExpectedTotal(stage, had + low, had + high))
    return tuple(found)


def _clock_changes(temperatures: Temperatures) -> tuple[date, ...]:
    """The days that are not of 24 hours."""
    lengths = np.diff(temperatures.edges)
    return tuple(temperatures.dates[place] for place in np.flatnonzero(abs(lengths - 1) > 1e-6))


def _daily(curve: HeatCurve) -> tuple[HeatDay, ...]:
    running = np.cumsum(curve.daily)  # NaN from the first unknown day on
    return tuple(
        HeatDay(day, amount, so_far, kind == FILLED)
        for day, amount, so_far, kind in zip(
            curve.temperatures.dates,
            all_finite(curve.daily),
            all_finite(running),
            curve.temperatures.status.tolist(),
            strict=True,
        )
    )
