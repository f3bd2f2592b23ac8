"""The studentized range: how far apart the largest and the smallest of several means lie by chance.

scipy has it too, but takes longer for one value than this for a whole comparison.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from rearlog.analysis.arrays import Floats

NODES = 64
"""Places at which each of the two integrals is taken (Gauss–Legendre)."""
FEW = 12
"""More means than this take twice as many for their range, which is right to 2e-6 up to 1000."""
FARTHEST = 9.0
"""SDs within which the integrals are taken."""
STEPS = 1800
STEP = 2 * FARTHEST / STEPS
"""Widths of the range at which its distribution is worked out once for each number of means."""
CLOSE = 1e-6
SECANTS = 30
LEAST = 1e-300


def above(q: float, k: int, freedom: float) -> float:
    """The probability of a studentized range of k means larger than q, 0 to 1.

    `freedom`: degrees of freedom of the standard error, 1 or more; right to 1e-6.
    Source: Tukey 1953 and Hartley 1942, Biometrika 32:334–348: the range of k normal deviates,
    averaged over the distribution of the standard error.
    """
    nodes, weights = _places(NODES)
    reach = FARTHEST / (2 * freedom) ** 0.5
    least, most = max(0.0, 1 - reach), 1 + reach
    errors = least + (most - least) * (nodes + 1) / 2
    density = (
        math.log(2)
        + freedom / 2 * math.log(freedom / 2)
        - math.lgamma(freedom / 2)
        + (freedom - 1) * np.log(errors)
        - freedom * errors**2 / 2
    )
    chances = np.exp(density) * weights * (most - least) / 2
    return float(min(1.0, max(0.0, 1 - chances @ _read_off(q * errors, k))))


def limit(part: float, k: int, freedom: float) -> float:
    """The q that a studentized range of k means exceeds with the probability `part`, to 1e-6 of it.

    By the secants of the logarithm of that probability, which is nearly straight, between two q
    that enclose it (the Illinois method: Dowell & Jarratt 1971, BIT 11:168–174, from memory).
    """

    def off(q: float) -> float:
        return math.log(max(above(q, k, freedom), LEAST)) - math.log(part)

    low, high = 0.0, 4.0
    off_low, off_high = off(low), off(high)
    while off_high > 0:
        low, off_low, high = high, off_high, 2 * high
        off_high = off(high)
    q = high
    for _ in range(SECANTS):
        before, q = q, (low * off_high - high * off_low) / (off_high - off_low)
        if abs(q - before) < CLOSE * q:
            break
        here = off(q)
        if here > 0:
            low, off_low, off_high = q, here, off_high / (2 if before == low else 1)
        else:
            high, off_high, off_low = q, here, off_low / (2 if before == high else 1)
    return q


@cache
def _places(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights from −1 to 1, both (count,)."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def _read_off(widths: Floats, k: int) -> Floats:
    """The probability (m,) that the range of k normal deviates is no more than the widths (m,).

    Between two lines of `_table` by the cubic that has its values and slopes (Hermite), which is
    right to 1e-9: the pairs of one comparison ask for thousands of widths, all with the same k.
    """
    value, slope = _table(k)
    place = np.minimum(widths / STEP, STEPS)
    low = np.minimum(place.astype(np.intp), STEPS - 1)
    part = place - low
    rest = 1 - part
    return np.asarray(
        rest**2 * (1 + 2 * part) * value[low]
        + part**2 * (1 + 2 * rest) * value[low + 1]
        + part * rest * (rest * slope[low] - part * slope[low + 1])
    )


@cache
def _table(k: int) -> tuple[Floats, Floats]:
    """The probability that the range of k normal deviates is no more than 0, 1, … STEPS steps, and
    its slope in each step, both (STEPS + 1,)."""
    from scipy.special import ndtr  # start-up time

    nodes, weights = _places(NODES if k <= FEW else 2 * NODES)
    z = FARTHEST * nodes
    widths = np.linspace(0, 2 * FARTHEST, STEPS + 1)[:, None]
    root = math.sqrt(2 * math.pi)
    density = np.exp(-(z**2) / 2) / root * weights * FARTHEST
    inside = ndtr(z) - ndtr(z - widths)
    growing = np.exp(-((z - widths) ** 2) / 2) / root
    value = k * inside ** (k - 1) @ density
    slope = k * (k - 1) * (inside ** (k - 2) * growing) @ density
    return value, STEP * slope
