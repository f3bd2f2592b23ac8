"""How far the temperatures of days to come may be off the mean of the last ones.

The model, an assumption: days deviate from a straight line over time, and each deviation resembles
that of the day before (a first-order autoregression: Box & Jenkins 1970, Time Series Analysis,
chapter 3). How much they resemble, how much they deviate and where the line goes is learned from
the record, several degrees of likeness being weighed by their likelihoods. A line that rises or
falls does not do so for ever: beyond today it flattens (a damped trend: Gardner & McKenzie 1985,
Manage. Sci. 31:1237–1246). Both books are cited from memory; what follows from the model is exact.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.heat.heat_curve import RECENT_DAYS

LIKENESS = ((0.3, 0.25), (0.6, 0.4), (0.8, 0.25), (0.9, 0.1))
"""Correlations of the temperature of one day with that of the next, and how likely each is taken
to be before a record is seen: an assumption."""

USUAL_SD = 1.2
"""SD of single days in °C that is expected, as if SD_KNOWN_FROM days before the record had shown
it: an assumption."""

SD_KNOWN_FROM = 1
"""How many days that is worth: an assumption. Two quiet weeks do not promise quiet ones."""

TREND_SHARE = 0.7
"""How likely it is taken to be, before a record is seen, that a room gets warmer or cooler: an
assumption."""

USUAL_TREND = 0.15
"""SD of the trends of such rooms, in degrees a day: an assumption."""

FLATTENS = 0.97
"""Share of a trend that is left from one day to the next: an assumption."""

LOOK_BACK = 28
"""So many of the last days tell of the weather to come."""

JUMP = 6.0
"""The greatest change from one day to the next, where it is more than so many times the median
change and than LEAST_CHANGE, is a move to another place, not weather: an assumption."""

LEAST_CHANGE = 0.3
"""Degrees from one day to the next: an assumption."""

_FEWEST = 6


class Weather(Struct, frozen=True, eq=False):
    """What m models make of a record, each with its `weight`: days deviate by `sd`, are `alike`,
    and rise by `trend` ± `trend_sd` degrees a day (all (m,); a trend of 0 is one for certain)."""

    weight: Floats
    alike: Floats
    sd: Floats
    trend: Floats
    trend_sd: Floats

    @property
    def likely_trend(self) -> float:
        """The mean of what is likely of the trend, 0 where that is less than its SD: such a trend
        is only possible, and taking it to go on would lead astray more often than not."""
        mean = float(self.weight @ self.trend)
        variance = float(self.weight @ (self.trend_sd**2 + (self.trend - mean) ** 2))
        return mean if mean**2 > variance else 0.0

    def variance(self, days: Floats) -> Floats:
        """Variance of the sum of `days` to come (any shape) about that many times the mean of the
        last RECENT_DAYS, the likely trend added; in squared degrees × days."""
        days = np.asarray(days, dtype=float)
        doubt = self.weight @ (self.trend_sd**2 + (self.trend - self.likely_trend) ** 2)
        off = sum(
            weight * sd**2 * sum_off_mean(days, alike)
            for weight, sd, alike in zip(self.weight, self.sd, self.alike, strict=True)
        )
        return np.asarray(off + doubt * lever(days) ** 2)


def weather(celsius: Floats) -> Weather | None:
    """Learn from n daily mean temperatures (n,); None where all are alike or n is too small.

    A level or a straight line with each likeness, by generalised least squares (Prais & Winsten
    1954), weighed by their likelihoods with level and SD integrated out. Of the variance of single
    days an inverse gamma distribution is expected (conjugate: Gelman et al. 2013, Bayesian Data
    Analysis, 3rd ed., section 3.3, cited from memory).
    """
    celsius = celsius[-LOOK_BACK:]
    n = len(celsius)
    if n < _FEWEST or np.ptp(celsius) == 0:
        return None
    celsius = _as_if_not_moved(celsius)
    fits, priors = [], []
    for alike, share in LIKENESS:
        fits += _fits(celsius, alike)
        priors += [share * (1 - TREND_SHARE), share * TREND_SHARE]
    log_likelihood, alike, sd, trend, trend_sd = np.array(fits).T
    weight = np.array(priors) * np.exp(log_likelihood - log_likelihood.max())
    return Weather(weight / weight.sum(), alike, sd, trend, trend_sd)


def _as_if_not_moved(celsius: Floats) -> Floats:
    """The days as if those before a jump had been in the place of the last ones; both (n,)."""
    changes = np.diff(celsius)
    jump = int(np.abs(changes).argmax())
    if abs(changes[jump]) <= JUMP * max(float(np.median(np.abs(changes))), LEAST_CHANGE):
        return celsius
    return celsius + np.where(np.arange(len(celsius)) <= jump, changes[jump], 0.0)


def _fits(celsius: Floats, alike: float) -> list[tuple[float, ...]]:
    """Log-likelihood, likeness, SD of single days, trend and its SD: of a level, and of a line."""
    n, fresh = len(celsius), 1 - alike**2
    lines = np.column_stack((np.ones(n), np.arange(n), celsius))
    ones, days, y = np.vstack((np.sqrt(fresh) * lines[:1], lines[1:] - alike * lines[:-1])).T
    size = ones @ ones
    days, y = (each - ones * (ones @ each) / size for each in (days, y))  # without their level
    slope = float(days @ y / (days @ days))
    expected, m = SD_KNOWN_FROM * USUAL_SD**2 * fresh, n + SD_KNOWN_FROM
    around = [float(left @ left) + expected for left in (y, y - slope * days)]
    # few days tell little of their spread: the variance of a t distribution
    sds = [np.sqrt(left / fresh / (m - 3 - k)) for k, left in enumerate(around)]
    level = (np.log(fresh) - np.log(size) - (m - 1) * np.log(around[0])) / 2
    level += SD_KNOWN_FROM * np.log(expected) / 2
    doubt = around[1] / (m - 2) / float(days @ days)
    spread = doubt + USUAL_TREND**2
    line = level + (m - 1) * np.log(around[0] / around[1]) / 2
    line += (np.log(doubt / spread) - slope**2 / spread) / 2
    drawn = USUAL_TREND**2 / spread
    return [
        (level, alike, sds[0], 0.0, 0.0),
        (line, alike, sds[1], slope * drawn, np.sqrt(doubt * drawn)),
    ]


def sum_off_mean(days: Floats, alike: float) -> Floats:
    """Variance of a sum of `days` to come about that many times the mean of the last RECENT_DAYS.

    In units of the variance of one day (same shape as `days`), where days are alike by `alike`.
    """
    recent = np.array(RECENT_DAYS)
    share = days / recent
    shared = alike * _fading(recent, alike) * _fading(days, alike)
    own = _sum_variance(days, alike) + share**2 * _sum_variance(recent, alike)
    return np.asarray(own - 2 * share * shared)


def lever(days: Floats) -> Floats:
    """The sum, over `days` to come, of how far a trend of one degree a day has gone by then from
    the mean of the last RECENT_DAYS (same shape): degrees × days."""
    kept = FLATTENS
    flattened = kept / (1 - kept) * (days - kept * _fading(days, kept))
    return np.asarray(days * (RECENT_DAYS - 1) / 2 + flattened)


def rise(days: Floats) -> Floats:
    """How far a trend of one degree a day has gone on the day to come of each number, 1 the first,
    from the mean of the last RECENT_DAYS (same shape)."""
    return np.asarray((RECENT_DAYS - 1) / 2 + FLATTENS * _fading(days, FLATTENS))


def _sum_variance(days: Floats, alike: float) -> Floats:
    """The variance of the sum of so many days, in units of that of one (same shape)."""
    return (days * (1 + alike) - 2 * alike * _fading(days, alike)) / (1 - alike)


def _fading(days: Floats, kept: float) -> Floats:
    return np.asarray((1 - kept**days) / (1 - kept))
