"""Degree-days as a function of time: between any two moments, and when an amount has come."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.heat.daily_temperatures import MISSING, Temperatures
from rearlog.analysis.heat.degree_days import degree_days, degree_days_of_readings
from rearlog.analysis.statistics.distinct import distinct
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile

RECENT_DAYS = 7.0
"""The temperature to come is taken to be the mean of this many last days."""
_TINY = 1e-9


class HeatSettings(Struct, frozen=True):
    """How degree-days are counted: thresholds in °C, method and cutoff as in `degree_days`."""

    lower: float
    upper: float | None
    method: str
    cutoff: str


def settings(
    profile: Profile,
    temperatures: Temperatures,
    lower: float | None = None,
    upper: float | None = None,
    method: str | None = None,
    cutoff: str = "horizontal",
) -> HeatSettings:
    """Fill in what is not given: the profile's thresholds; readings where a logger was used.

    Raises UsageError where no lower threshold is known, or the upper is not above it.
    """
    if lower is None:
        if profile.lower is None:
            raise UsageError(
                f"the profile of {profile.name} has no lower developmental threshold",
                CommandText(
                    "“rearlog heat COHORT --lower CELSIUS” counts above one that you choose",
                    "give the lower threshold under “Options”",
                ),
            )
        lower = profile.lower.centre
    if upper is None and profile.upper is not None:
        upper = profile.upper.centre
    if upper is not None and upper <= lower:
        raise UsageError(f"the upper threshold {upper:g} °C is not above the lower, {lower:g} °C")
    if method is None:
        method = temperatures.usual_method
    return HeatSettings(lower, upper, method, cutoff)


class HeatCurve(Struct, frozen=True, eq=False):
    """Degree-days as a function of time, in days since the cohort's zero.

    At the m `knots`, running totals of: `total` degree-days, `warmth` (°C × days), and `unknown`
    (days without a temperature). Between knots all run straight. `daily` (n,) has the degree-days
    of each calendar day, NaN where unknown.
    """

    settings: HeatSettings
    temperatures: Temperatures
    knots: Floats
    total: Floats
    warmth: Floats
    unknown: Floats
    daily: Floats

    def between(self, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
        """Degree-days from `low` to `high` (days, any shape); NaN where a day is unknown."""
        return np.where(self._known(low, high), self._rise(self.total, low, high), np.nan)

    def mean_celsius(self, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
        """Mean temperature from `low` to `high` (days, any shape); NaN where a day is unknown."""
        span = np.subtract(high, low)
        usable = self._known(low, high) & (span > 0)
        return np.where(
            usable, self._rise(self.warmth, low, high) / np.where(span > 0, span, 1.0), np.nan
        )

    def usual_celsius(self, low: float, high: float) -> float | None:
        """The mean of what is on record between two days; None where that is less than half."""
        asked = high - low
        low, high = max(low, float(self.knots[0])), min(high, float(self.knots[-1]))
        known = high - low - float(self._rise(self.unknown, low, high)) if high > low else 0.0
        if known <= 0 or known < asked / 2:
            return None
        return float(self._rise(self.warmth, low, high)) / known

    def recent_rate(self, days: int | None = None) -> float:
        """Degree-days per day over the last RECENT_DAYS that are known, of all or of the first
        `days`; NaN without any."""
        return self._recent(self.daily[:days])

    def recent_celsius(self, days: int) -> float:
        """The mean temperature over the last RECENT_DAYS that are known of the first `days`."""
        edges = self.temperatures.edges[: days + 1]
        return self._recent(np.diff(np.interp(edges, self.knots, self.warmth)))

    def _recent(self, daily: Floats) -> float:
        known = np.flatnonzero(self.temperatures.status[: len(daily)] != MISSING)
        last = known[-int(RECENT_DAYS) :]
        if len(last) == 0:
            return np.nan
        return float(daily[last].sum() / np.diff(self.temperatures.edges)[last].sum())

    def when(self, start: npt.ArrayLike, needed: npt.ArrayLike) -> Floats:
        """The day on which `needed` degree-days have come together since `start` (any shape).

        Beyond the last known day the recent rate goes on. NaN where a day in between is unknown
        or the heat never comes together.
        """
        start, needed = np.broadcast_arrays(
            np.asarray(start, dtype=float), np.asarray(needed, dtype=float)
        )
        goal = self.at(start) + needed
        end_total, end = self.total[-1], self.knots[-1]
        rate = self.recent_rate()
        beyond = end + (goal - end_total) / rate if rate > 0 else np.full(goal.shape, np.nan)
        reached = np.minimum(np.searchsorted(self.total, goal), len(self.total) - 1)
        inside = np.where(  # a total that stands still is reached where it began to
            self.total[reached] == goal,
            self.knots[reached],
            np.interp(goal, self.total, self.knots),
        )
        day = np.where(goal <= end_total, np.maximum(inside, start), beyond)
        return np.where(self._known(start, np.minimum(day, end)), day, np.nan)

    def at(self, day: npt.ArrayLike) -> Floats:
        """The running total at a day; beyond the end the recent rate goes on."""
        day = np.asarray(day, dtype=float)
        after = np.maximum(day - self.knots[-1], 0.0)
        rate = self.recent_rate() if (after > 0).any() else 0.0
        return np.asarray(np.interp(day, self.knots, self.total) + after * rate)

    def _known(self, low: npt.ArrayLike, high: npt.ArrayLike) -> Booleans:
        inside = (np.asarray(low) >= self.knots[0] - _TINY) & (
            np.asarray(high) <= self.knots[-1] + _TINY
        )
        return np.asarray(inside & (self._rise(self.unknown, low, high) < _TINY))

    def _rise(self, running: Floats, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
        low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
        return np.asarray(
            np.interp(high, self.knots, running) - np.interp(low, self.knots, running)
        )


def heat_curve(temperatures: Temperatures, how: HeatSettings) -> HeatCurve:
    """Add up a cohort's degree-days.

    With the method `readings`, days that the logger covers are integrated exactly and the others
    take the single sine. A part of a day counts in proportion. A day of 23 or 25 hours counts as
    that part of a day.
    """
    edges, lengths = temperatures.edges, np.diff(temperatures.edges)
    by_readings = temperatures.logged & (how.method == "readings")
    daily = lengths * degree_days(
        temperatures.minimum,
        temperatures.maximum,
        how.lower,
        how.upper,
        method="single-sine" if how.method == "readings" else how.method,
        cutoff=how.cutoff,
    )
    warmth_daily = lengths * (temperatures.minimum + temperatures.maximum) / 2
    times = temperatures.reading_days
    day_of = np.clip(np.searchsorted(edges, times, side="right") - 1, 0, len(lengths) - 1)
    inside = (times > edges[0]) & (times < edges[-1]) & by_readings[day_of]
    knots = distinct(np.concatenate((edges, times[inside])))
    day = np.searchsorted(edges, (knots[:-1] + knots[1:]) / 2, side="right") - 1
    steps, warmth = daily[day], warmth_daily[day]
    if by_readings.any():
        celsius = np.interp(knots, times, temperatures.reading_celsius)
        fine = degree_days_of_readings(knots, celsius, how.lower, how.upper, cutoff=how.cutoff)
        used = by_readings[day]
        per_day = np.bincount(day, weights=np.where(used, fine, 0.0), minlength=len(daily))
        fine = np.where(per_day[day] < 0, 0.0, fine)  # intermediate cutoff: no day below 0
        steps = np.where(used, fine, steps)
        daily = np.where(by_readings, np.maximum(per_day, 0.0), daily)
        means = (celsius[:-1] + celsius[1:]) / 2 * np.diff(knots)
        warmth = np.where(used, means, warmth)
    missing = temperatures.status == MISSING
    return HeatCurve(
        settings=how,
        temperatures=temperatures,
        knots=knots,
        total=_running(np.nan_to_num(steps)),
        warmth=_running(np.nan_to_num(warmth)),
        unknown=_running(np.where(missing[day], np.diff(knots), 0.0)),
        daily=daily,
    )


def _running(steps: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(steps)))
