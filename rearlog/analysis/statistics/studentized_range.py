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
    nodes, weights = _places()
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

    By the secants of the logarithm of that probability, which is nearly straight."""
    wanted = math.log(part)
    q, other = 3.0, 4.0
    log, other_log = (math.log(above(each, k, freedom)) for each in (q, other))
    for _ in range(SECANTS):
        if abs(other - q) < CLOSE * other or log == other_log:
            break
        step = (wanted - other_log) * (other - q) / (other_log - log)
        q, log = other, other_log
        other = max(other + step, other / 4)
        other_log = math.log(max(above(other, k, freedom), LEAST))
    return other


@cache
def _places() -> tuple[Floats, Floats]:
    """Nodes and weights from −1 to 1, both (NODES,)."""
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
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

    nodes, weights = _places()
    z = FARTHEST * nodes
    widths = np.linspace(0, 2 * FARTHEST, STEPS + 1)[:, None]
    root = math.sqrt(2 * math.pi)
    density = np.exp(-(z**2) / 2) / root * weights * FARTHEST
    inside = ndtr(z) - ndtr(z - widths)
    growing = np.exp(-((z - widths) ** 2) / 2) / root
    value = k * inside ** (k - 1) @ density
    slope = k * (k - 1) * (inside ** (k - 2) * growing) @ density
    return value, STEP * slope
