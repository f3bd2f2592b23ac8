"""The threshold at which degree-days over temperatures that rise and fall are most alike.

Where it is colder than the threshold for a part of the day, the mean temperature of the day counts
cold that does not take development back, and a line through the rates at mean temperatures ends
too low.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats
from rearlog.analysis.heat.daily_temperatures import MISSING
from rearlog.analysis.heat.heat_curve import HeatCurve, HeatSettings, heat_curve
from rearlog.analysis.statistics.levels import CONFIDENCE, tails

SWING_C = 2.0
"""°C between the extremes of a day, on average, from which temperatures are not called constant."""
STEP_C = 0.5
THRESHOLDS = np.arange(-10.0, 35.0 + STEP_C / 2, STEP_C)
"""°C. The thresholds that are tried, and then places between the best and its neighbours."""
FINE = np.linspace(-1.0, 1.0, 101)
"""Places between neighbouring thresholds, in steps of them."""
RESAMPLES = 400
SEED = 61


class SwingingHeat(Struct, frozen=True):
    """The threshold (°C) above which k cohorts needed the most equal degree-days, their mean as
    `constant` (degree-days), and their coefficient of variation `cv` there.

    `swing` is the mean difference (°C) between the extremes of a day, of the cohort where it is
    greatest. The 95 % limits are None where the durations of some cohort have no known error, or
    do not bound the threshold.
    """

    threshold: float
    threshold_low: float | None
    threshold_high: float | None
    constant: float
    cv: float
    swing: float
    n: int


class HeatAbove:
    """Degree-days of one cohort above each of THRESHOLDS, between any two moments.

    By a logger's readings where there are any, else by the single sine; without an upper
    threshold, as the straight line is.
    """

    def __init__(self, curve: HeatCurve) -> None:
        temperatures = curve.temperatures
        how = HeatSettings(0.0, None, temperatures.usual_method, "horizontal")
        each = [heat_curve(temperatures, replace(how, lower=float(t))) for t in THRESHOLDS]
        self._knots = each[0].knots
        self._totals = np.array([one.total for one in each])

    def between(self, low: Floats, high: Floats) -> Floats:
        """Degree-days (n, g) of n spans, from `low` to `high` (n,) in days."""
        return np.array(
            [np.interp(high, self._knots, t) - np.interp(low, self._knots, t) for t in self._totals]
        ).T


def daily_range(curve: HeatCurve, low: Floats, high: Floats) -> float | None:
    """The mean difference (°C) between the extremes of the days from the first of `low` to the
    last of `high`; None where none of them is known."""
    there = curve.temperatures
    during = (there.edges[1:] > low.min()) & (there.edges[:-1] < high.max())
    known = during & (there.status != MISSING)
    if not known.any():
        return None
    return float(np.mean(there.maximum[known] - there.minimum[known]))


def swinging_heat(
    heats: Sequence[Floats], errors: Sequence[float | None], swing: float
) -> SwingingHeat | None:
    """The threshold of least variation between cohorts; None where it is not among THRESHOLDS.

    `heats`: for each of k ≥ 2 cohorts the mean degree-days (g,) of its individuals above each
    threshold; `errors` the standard errors of its mean duration, as parts of it. The limits are
    those of 400 invented experiments, in which means scatter by these errors, or by as much more
    as they differ at the threshold.
    Source: Yang, Logan & Coffey 1995, Agric. For. Meteorol. 74:61–74 (the least coefficient of
    variation; cited from memory); limits: parametric bootstrap, as in `rate_curves`.
    """
    means = np.array(heats)
    found = _least(means[None])
    if np.isnan(found[0]):
        return None
    at = np.array([np.interp(found[0], THRESHOLDS, each) for each in means])
    cv = float(at.std(ddof=1) / at.mean())
    low, high = _limits(means, at, errors)
    return SwingingHeat(float(found[0]), low, high, float(at.mean()), cv, swing, len(means))


def _limits(
    means: Floats, at: Floats, errors: Sequence[float | None]
) -> tuple[float | None, float | None]:
    known = np.array([each for each in errors if each])
    if len(known) < len(errors):
        return None, None
    spare = max(1, len(at) - 2)
    more = float(np.sum(((at / at.mean() - 1) / known) ** 2)) / spare
    noise = np.random.default_rng(SEED).standard_normal((RESAMPLES, len(at)))
    factors = np.exp(noise * known * max(1.0, more) ** 0.5)
    drawn = _least(means * factors[:, :, None])
    if np.isnan(drawn).mean() > 1 - CONFIDENCE:
        return None, None
    low, high = np.nanquantile(drawn, tails(CONFIDENCE))
    return float(low), float(high)


def _least(means: Floats) -> Floats:
    """For each of b experiments (b, k, g) the threshold of least variation; NaN where that is an
    end of those tried. Between those, degree-days take the parabola through three of them."""
    varying = _variation(means)
    place = varying.argmin(axis=1)
    inside = (place > 0) & (place < means.shape[2] - 1)
    at = np.clip(place, 1, means.shape[2] - 2)
    rows = np.arange(len(means))
    before, here, after = (means[rows, :, at + side][:, :, None] for side in (-1, 0, 1))
    fine = here + FINE * (after - before) / 2 + FINE**2 * (after - 2 * here + before) / 2
    best = _variation(fine).argmin(axis=1)
    return np.asarray(np.where(inside, THRESHOLDS[at] + STEP_C * FINE[best], np.nan), dtype=float)


def _variation(means: Floats) -> Floats:
    """The squared coefficient of variation over the k cohorts of (b, k, g); inf where one has no
    degree-days."""
    some = means.min(axis=1) > 0
    average = np.where(some, means.mean(axis=1), 1.0)
    return np.asarray(np.where(some, means.var(axis=1, ddof=1) / average**2, np.inf), dtype=float)
