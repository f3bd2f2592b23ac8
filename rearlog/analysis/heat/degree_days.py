"""Degree-days of days known by their minimum and maximum, and of a logger's readings.

A method says how the temperature runs through a day. From that follow, for any threshold, the
degree-days above it and the share of the day above it; a cutoff says what heat beyond the upper
threshold is worth. Temperatures are in °C and degree-days in °C × days; given °F throughout, the
results are in °F × days, 1.8 times as many.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Floats
from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.records.errors import Problem, UsageError


def degree_days(
    minimum: npt.ArrayLike,
    maximum: npt.ArrayLike,
    lower: float,
    upper: float | None = None,
    *,
    method: str = "single-sine",
    cutoff: str = "horizontal",
) -> Floats:
    """Degree-days of each of n days, by any of METHODS but `readings`.

    `minimum` and `maximum` (n,) in °C stand in the order of the days; a day with a NaN comes out
    as NaN. `lower` and `upper` are the developmental thresholds in °C. Returns (n,) degree-days.

    Methods:

    - `average`: the whole day at the mean of minimum and maximum, max(0, (min + max)/2 − L). An
      upper threshold matters only on a day whose mean is above it. Common practice.
    - `clipped-average`: half the day at each extreme: with the horizontal cutoff, the mean of
      minimum and maximum, each first moved into L … U, less L (common practice). The other cutoffs
      are applied to each extreme likewise: this project's reading, and not an established one.
    - `single-sine`, `double-sine`: Baskerville & Emin 1969, Ecology 50:514–517; Allen 1976,
      Environ. Entomol. 5:388–396.
    - `single-triangle`, `double-triangle`: Lindsey & Newman 1956, Ecology 37:812–823.

    The double methods take two half-days, the second from the day's maximum to the minimum of the
    day after. Where that is unknown, and on the last day, the day's own minimum stands in. It may
    lie above the maximum: the half-day then warms.

    Cutoffs, with DD(T) for the degree-days above T: `horizontal` DD(L) − DD(U); `intermediate`
    DD(L) − 2·DD(U), a day not below 0; `vertical` nothing while the temperature is above U.

    Raises UsageError with every mistake: an unknown method or cutoff, an upper threshold not
    above the lower, a minimum above its maximum.
    """
    low, high = np.asarray(minimum, dtype=float), np.asarray(maximum, dtype=float)
    problems = _threshold_problems(lower, upper, cutoff)
    problems += _method_problems(method)
    problems += _day_problems(low, high)
    if problems:
        raise UsageError(problems)
    curve = _CURVES[method]
    day = _heat(curve, low, high, lower, upper, cutoff)
    if method.startswith("double"):
        following = np.append(low[1:], low[-1:])
        end = np.where(np.isnan(following), low, following)
        second_half = _heat(
            curve, np.minimum(end, high), np.maximum(end, high), lower, upper, cutoff
        )
        day = (day + second_half) / 2
    return np.maximum(day, 0.0)


def degree_days_of_readings(
    at_days: npt.ArrayLike,
    celsius: npt.ArrayLike,
    lower: float,
    upper: float | None = None,
    *,
    cutoff: str = "horizontal",
) -> Floats:
    """Degree-days of each stretch between neighbouring readings.

    `at_days` (n,) are the times in days, ascending, and `celsius` (n,) the temperatures then. The
    temperature runs straight between two readings, and the integral is exact: it includes the
    moments at which a threshold is crossed. Returns (n − 1,) degree-days, NaN beside a NaN.

    Thresholds and cutoffs are as in `degree_days`, but with the intermediate cutoff a stretch
    may be below 0: only a whole day may not, so the caller adds a day up and then clips it.

    Raises UsageError for an unknown cutoff or an upper threshold not above the lower.
    """
    problems = _threshold_problems(lower, upper, cutoff)
    if problems:
        raise UsageError(problems)
    reading = np.asarray(celsius, dtype=float)
    first, second = reading[:-1], reading[1:]
    rate = _heat(
        _straight, np.minimum(first, second), np.maximum(first, second), lower, upper, cutoff
    )
    if cutoff != "intermediate":
        rate = np.maximum(rate, 0.0)  # rounding alone can bring it below
    return rate * np.diff(np.asarray(at_days, dtype=float))


Curve = Callable[[Floats, Floats, float], tuple[Floats, Floats]]
"""From the lowest and highest temperature of a run (n,) and a threshold: degree-days per day
above the threshold (n,), and the share of the time above it (n,), 0 to 1."""


def _heat(
    curve: Curve, low: Floats, high: Floats, lower: float, upper: float | None, cutoff: str
) -> Floats:
    above_lower, _ = curve(low, high, lower)
    if upper is None:
        return above_lower
    above_upper, share = curve(low, high, upper)
    if cutoff == "horizontal":
        return above_lower - above_upper
    if cutoff == "intermediate":
        return above_lower - 2 * above_upper
    return above_lower - above_upper - (upper - lower) * share


def _flat(low: Floats, high: Floats, threshold: float) -> tuple[Floats, Floats]:
    mean = (low + high) / 2
    return np.maximum(mean - threshold, 0.0), np.where(mean > threshold, 1.0, 0.0)


def _extremes(low: Floats, high: Floats, threshold: float) -> tuple[Floats, Floats]:
    cold, cold_share = _flat(low, low, threshold)
    warm, warm_share = _flat(high, high, threshold)
    return (cold + warm) / 2, (cold_share + warm_share) / 2


def _sine(low: Floats, high: Floats, threshold: float) -> tuple[Floats, Floats]:
    part = _part_above(low, high, threshold)
    angle = np.arcsin(np.sqrt(part))  # half the angle for which the sine is above the threshold
    arch = (high - low) * (np.sqrt(part * (1 - part)) - (1 - 2 * part) * angle) / np.pi
    return np.maximum(low - threshold, 0.0) + arch, angle / (np.pi / 2)


def _straight(low: Floats, high: Floats, threshold: float) -> tuple[Floats, Floats]:
    part = _part_above(low, high, threshold)
    return np.maximum(low - threshold, 0.0) + (high - low) * part**2 / 2, part


def _part_above(low: Floats, high: Floats, threshold: float) -> Floats:
    """The part of the range low … high that lies above the threshold, 0 to 1.

    A constant temperature has no range: it is above the threshold (1) or not (0).
    """
    constant = np.where(high > threshold, 1.0, 0.0)
    above: Floats = high - np.clip(threshold, low, high)
    return np.divide(above, high - low, out=constant, where=high > low)


_CURVES: dict[str, Curve] = {
    "average": _flat,
    "clipped-average": _extremes,
    "single-sine": _sine,
    "double-sine": _sine,
    "single-triangle": _straight,
    "double-triangle": _straight,
}


def _threshold_problems(lower: float, upper: float | None, cutoff: str) -> list[Problem]:
    problems = []
    if cutoff not in CUTOFFS:
        problems.append(Problem(f"no cutoff “{cutoff}”", remedy=f"use {', '.join(CUTOFFS)}"))
    if upper is not None and not upper > lower:
        message = f"the upper threshold {upper:g} is not above the lower threshold {lower:g}"
        problems.append(Problem(message))
    return problems


def _method_problems(method: str) -> list[Problem]:
    if method in _CURVES:
        return []
    if method == "readings":
        message = "the method readings needs a logger's readings, not minima and maxima"
        return [Problem(message, remedy="use another method, such as single-sine")]
    return [Problem(f"no method “{method}”", remedy=f"use {', '.join(METHODS)}")]


def _day_problems(minimum: Floats, maximum: Floats) -> list[Problem]:
    return [
        Problem(f"minimum {minimum[day]:g} is above maximum {maximum[day]:g}", f"day {day + 1}")
        for day in np.flatnonzero(minimum > maximum)
    ]
