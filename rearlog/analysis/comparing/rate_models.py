"""Development rate against temperature: the straight line, its threshold and thermal constant.

Each model takes the mean temperatures of a stage (°C) and its mean durations (days), one pair a
cohort, and returns a frozen result, or the reason why the points cannot give one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.straight_line import straight_line
from rearlog.analysis.statistics.student_t import limit_95
from rearlog.analysis.statistics.weighted_line import LackOfFit, weighted_line

NEAR_C = 0.5
"""Mean temperatures that lie closer than this (°C) are one: no cohort is kept as exactly."""

WARMEST_UPPER = 60.0
"""°C. An upper threshold that would lie beyond it was not reached by any temperature of the fit."""

FEWEST_FOR_CURVE = 6
"""Different temperatures below which no curve that bends is sought: the least of them has three
constants to be found, and three more points tell how well (see `rate_curves`)."""

FEWEST_WEIGHED = 3
"""Individuals of a cohort below which the scatter between them gives it no weight."""


class NoRate(StrEnum):
    """Why points cannot give a model of the rate."""

    FEW_COHORTS = "few_cohorts"
    """Fewer than two have finished the stage with known temperatures."""
    ONE_TEMPERATURE = "one_temperature"
    """The cohorts had the same temperature, as far as it can be kept (see NEAR_C)."""
    FEW_TEMPERATURES = "few_temperatures"
    """All points lie at one temperature."""
    NOT_FASTER = "not_faster"
    """Development was not faster at the higher temperatures."""
    EQUALLY_LONG = "equally_long"
    """The stage took equally long at all temperatures."""
    FEW_FOR_CURVE = "few_for_curve"
    """Fewer than FEWEST_FOR_CURVE different temperatures."""
    BEYOND_CURVE = "beyond_curve"
    """The curve holds between 0 °C and WARMEST_UPPER only."""
    NOT_SETTLED = "not_settled"
    """No curve that bends settles on the points, with thresholds that they show."""
    FEW_ANIMALS = "few_animals"
    """A cohort has fewer than FEWEST_WEIGHED individuals, or all took equally long: no weight."""


def different_temperatures(celsius: Iterable[float]) -> int:
    """How many temperatures (°C) there are, from the coldest on, that lie NEAR_C or more from the
    one before."""
    count, last = 0, -math.inf
    for each in sorted(celsius):
        if each - last >= NEAR_C:
            count, last = count + 1, each
    return count


class LinearRate(Struct, frozen=True):
    """The line rate = intercept + slope · temperature, and what follows from it.

    `threshold` is the lower developmental threshold in °C, `constant` the thermal constant in
    degree-days (°C), `slope` in 1/(day · °C), `intercept` in 1/day; `residuals` (1/day) stand in
    the order of `celsius`. `_low` and `_high` are 95 % limits, by Student's t on n − 2 degrees of
    freedom. They, standard errors and `r2` are None for two points: two points lie on a line
    whatever they are.
    """

    threshold: float
    threshold_se: float | None
    threshold_low: float | None
    threshold_high: float | None
    constant: float
    constant_se: float | None
    constant_low: float | None
    constant_high: float | None
    slope: float
    slope_se: float | None
    intercept: float
    r2: float | None
    n: int
    celsius: tuple[float, ...]
    residuals: tuple[float, ...]

    @property
    def drawn_out(self) -> float:
        """By how much (°C) the threshold lies below the coldest point: it is extrapolated."""
        return max(0.0, min(self.celsius) - self.threshold)

    def rate(self, celsius: npt.ArrayLike) -> Floats:
        """The line at temperatures `celsius` (k,): rates in 1/day (k,), negative below T0."""
        return self.intercept + self.slope * np.asarray(celsius, dtype=float)

    def band(self, celsius: npt.ArrayLike) -> tuple[Floats, Floats] | None:
        """The 95 % limits of the mean rate at temperatures (k,), in 1/day.

        Student's t on n − 2 degrees of freedom, pointwise; None for two points.
        Source: Draper & Smith 1998, Applied Regression Analysis, 3rd ed., section 1.4.
        """
        if self.slope_se is None:
            return None
        at = np.asarray(celsius, dtype=float)
        variance = sum(residual**2 for residual in self.residuals) / (self.n - 2)
        from_mean = at - np.mean(self.celsius)
        se = np.sqrt(variance / self.n + (from_mean * self.slope_se) ** 2)
        reach = limit_95(self.n - 2) * se
        return self.rate(at) - reach, self.rate(at) + reach


class LineErrors(NamedTuple):
    """Standard errors and 95 % limits of a threshold (°C) and a thermal constant (degree-days)."""

    threshold_se: float
    threshold_low: float
    threshold_high: float
    constant_se: float
    constant_low: float
    constant_high: float


def line_errors(
    threshold: float,
    constant: float,
    *,
    rate: float,
    rate_variance: float,
    slope_se: float,
    freedom: int,
) -> LineErrors:
    """Those of a line of slope b = 1/K, from its slope's and those of the mean `rate` r̄ (1/day),
    which has the variance s²/N; limits by Student's t on `freedom` degrees of freedom.

    SE(T0) = (r̄/b)·√(s²/(N·r̄²) + (SE_b/b)²), SE(K) = SE_b/b². Source: see `linear_rate`.
    """
    of_slope = slope_se * constant
    threshold_se = rate * constant * (rate_variance / rate**2 + of_slope**2) ** 0.5
    constant_se = of_slope * constant
    limit = limit_95(freedom)
    return LineErrors(
        threshold_se,
        threshold - limit * threshold_se,
        threshold + limit * threshold_se,
        constant_se,
        max(0.0, constant - limit * constant_se),
        constant + limit * constant_se,
    )


def linear_rate(celsius: npt.ArrayLike, days: npt.ArrayLike) -> LinearRate | NoRate:
    """Lower threshold and thermal constant by least squares of rate on temperature.

    r = a + b·T with r = 1/D, T0 = −a/b, K = 1/b; errors: see `line_errors`.

    `celsius` (k,): mean temperatures while in the stage; `days` (k,): mean durations at them.
    Holds only over temperatures where the rate is straight: a point above the optimum bends it.
    Raises ValueError for arrays that do not match or durations that are not positive.
    Source: Campbell, Frazer, Gilbert, Gutierrez & Mackauer 1974, J. Appl. Ecol. 11:431–438.
    """
    celsius, days = _points(celsius, days)
    if np.ptp(celsius) == 0:
        return NoRate.FEW_TEMPERATURES
    rates = 1 / days
    line = straight_line(celsius, rates)
    slope, intercept = line.slope, line.intercept
    if slope <= 0 or np.ptp(days) == 0:  # equal rates may slope by a rounding error
        return NoRate.NOT_FASTER
    residuals = rates - (intercept + slope * celsius)
    n = celsius.size
    threshold, constant = -intercept / slope, 1 / slope
    errors = None
    if line.slope_se is not None:
        errors = line_errors(
            threshold,
            constant,
            rate=float(rates.mean()),
            rate_variance=float(residuals @ residuals) / (n - 2) / n,
            slope_se=line.slope_se,
            freedom=n - 2,
        )
    return LinearRate(
        threshold=threshold,
        constant=constant,
        slope=slope,
        slope_se=line.slope_se,
        intercept=intercept,
        r2=line.r2,
        n=n,
        celsius=tuple(celsius.tolist()),
        residuals=tuple(residuals.tolist()),
        **(dict.fromkeys(LineErrors._fields) if errors is None else errors._asdict()),
    )


class WeightedRate(Struct, frozen=True):
    """The line rate = (T − threshold)/constant with weights 1/SE², and whether it is straight.

    `threshold` in °C, `constant` in degree-days (°C). Their errors come from the individuals
    within cohorts, and from the distances of the cohorts from the line where these are larger.
    `lack_of_fit` is None for two points.
    """

    threshold: float
    threshold_se: float
    constant: float
    constant_se: float
    n: int
    lack_of_fit: LackOfFit | None


def weighted_rate(
    celsius: npt.ArrayLike, rates: npt.ArrayLike, se: npt.ArrayLike, freedom: npt.ArrayLike
) -> WeightedRate | NoRate:
    """Threshold and thermal constant by weighted least squares of the cohorts' mean rates.

    All (k,): mean temperatures, mean rates (1/day) with their standard errors above 0 and the
    degrees of freedom of these. SE of T0 and K by the delta method, as in `linear_rate`.
    Source: see `statistics.weighted_line`.
    """
    x, y, errors, known = (np.asarray(each, dtype=float) for each in (celsius, rates, se, freedom))
    if np.ptp(x) == 0:
        return NoRate.FEW_TEMPERATURES
    line = weighted_line(x, y, errors, known)
    if line.slope <= 0 or np.ptp(y) == 0:  # equal rates may slope by a rounding error
        return NoRate.NOT_FASTER
    threshold, constant = -line.intercept / line.slope, 1 / line.slope
    covariance = line.covariance * line.scatter
    by_both = np.array([-constant, -threshold * constant])
    return WeightedRate(
        threshold=threshold,
        threshold_se=float(np.sqrt(by_both @ covariance @ by_both)),
        constant=constant,
        constant_se=float(np.sqrt(covariance[1, 1]) * constant**2),
        n=x.size,
        lack_of_fit=line.lack_of_fit,
    )


class IkemotoTakai(Struct, frozen=True):
    """The line D·T = constant + threshold · D through its reduced major axis.

    `threshold` in °C, `constant` in degree-days (°C). Standard errors and `r2` are None for two
    points.
    """

    threshold: float
    threshold_se: float | None
    constant: float
    constant_se: float | None
    r2: float | None
    n: int


def ikemoto_takai(celsius: npt.ArrayLike, days: npt.ArrayLike) -> IkemotoTakai | NoRate:
    """Lower threshold and thermal constant by the reduced major axis of D·T on D.

    T0 = ± SD(D·T)/SD(D) with the sign of the correlation ρ, K = mean(D·T) − T0·mean(D). Slow, cool
    cohorts weigh more here than among the rates. The standard errors are those of an ordinary line
    with this slope, SE(T0) = |T0|·√((1 − ρ²)/(n − 2)), SE(K) = SE(T0)·√(Σ D²/n): an approximation
    that comes close to the scatter between simulated experiments.

    `celsius` (k,): mean temperatures while in the stage; `days` (k,): mean durations at them.
    Temperatures must be °C: unlike least squares, this axis is not indifferent to where zero lies.
    Raises ValueError for arrays that do not match or durations that are not positive.
    Source: Ikemoto & Takai 2000, Environ. Entomol. 29:671–682; standard error of the slope:
    Sokal & Rohlf 1995, Biometry, 3rd ed., box 14.3 (cited from memory).
    """
    celsius, days = _points(celsius, days)
    if np.ptp(celsius) == 0:
        return NoRate.FEW_TEMPERATURES
    if np.ptp(days) == 0:
        return NoRate.EQUALLY_LONG
    products = days * celsius
    level = np.ptp(products) == 0  # the stage needs as much heat above 0 °C at each temperature
    correlation = 0.0 if level else float(np.corrcoef(days, products)[0, 1])
    threshold = float(np.sign(correlation) * products.std() / days.std())
    constant = float(products.mean() - threshold * days.mean())
    if constant <= 0:
        return NoRate.NOT_FASTER
    n = days.size
    r2 = threshold_se = constant_se = None
    if n > 2:
        r2 = correlation**2
        threshold_se = float(abs(threshold) * np.sqrt(max(0.0, 1 - r2) / (n - 2)))
        constant_se = float(threshold_se * np.sqrt(np.mean(days**2)))
    return IkemotoTakai(threshold, threshold_se, constant, constant_se, r2, n)


def _points(celsius: npt.ArrayLike, days: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Both as arrays (k,) of floats; ValueError where they cannot be durations at temperatures."""
    x, y = np.asarray(celsius, dtype=float), np.asarray(days, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or x.size == 0:
        raise ValueError(f"celsius {x.shape} and days {y.shape} must be two arrays of one length")
    if not (np.isfinite(x).all() and np.isfinite(y).all() and (y > 0).all()):
        raise ValueError("temperatures must be finite, durations finite and above 0")
    return x, y
