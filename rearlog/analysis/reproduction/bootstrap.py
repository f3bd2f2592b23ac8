"""Standard errors and limits from cohorts that were drawn with replacement."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats, finite
from rearlog.analysis.statistics.levels import CONFIDENCE, tails

NORMAL = NormalDist()


class DrawnLimits(Struct, frozen=True):
    """A standard error and 95 % limits; None for what does not exist, or is infinite."""

    se: float | None
    low: float | None
    high: float | None


def bca(estimate: float, draws: Floats, without: Floats) -> DrawnLimits:
    """The bias-corrected and accelerated limits of an estimate, and its standard error.

    `draws` (B,) are its values in resamples, `without` (U,) those without one unit each. NaN is
    left out; infinite draws keep their place in the order, but do not count in the standard error.
    Where all draws lie on one side of the estimate, or a value without a unit is infinite, the
    limits are percentiles.
    Source: Efron 1987, J. Am. Stat. Assoc. 82:171–185; Efron & Tibshirani 1993, An Introduction to
    the Bootstrap, ch. 14. Draws that equal the estimate count half in the bias.
    """
    known = np.sort(draws[~np.isnan(draws)])
    finite = known[np.isfinite(known)]
    if len(finite) < 2:
        return DrawnLimits(None, None, None)
    ends = tails(CONFIDENCE)
    below = float((known < estimate).mean() + (known == estimate).mean() / 2)
    if 0 < below < 1:
        bias, speed = NORMAL.inv_cdf(below), acceleration(without)
        ends = (_shifted(ends[0], bias, speed), _shifted(ends[1], bias, speed))
    low, high = (at_rank(known, end) for end in ends)
    return DrawnLimits(float(finite.std(ddof=1)), low, high)


def acceleration(without: Floats) -> float:
    """How fast the standard error changes with the estimate: Σ d³ / 6 (Σ d²)^1.5 of the jackknife
    values (U,), d their mean less them; 0 where they do not vary or are not known."""
    if not np.isfinite(without).all():
        return 0.0
    off = without.mean() - without
    square = float((off**2).sum())
    return float((off**3).sum()) / (6 * square**1.5) if square > 0 else 0.0


def _shifted(end: float, bias: float, speed: float) -> float:
    """Which part of the draws lies below the limit that has the part `end` below it in truth.

    The divisor is above zero: the speed is below 1/6, and z below 6 with 10,000 draws.
    """
    z = bias + NORMAL.inv_cdf(end)
    return NORMAL.cdf(bias + z / (1 - speed * z))


def at_rank(ordered: Floats, part: float) -> float | None:
    """The draw below which this part of the draws lies, ascending (B,); None where it is infinite.

    Without interpolation: between infinity and a number there is none.
    """
    return finite(ordered[min(int(part * len(ordered)), len(ordered) - 1)])
