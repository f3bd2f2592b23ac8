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
    return float(min(1.0, max(0.0, 1 - chances @ _range_within(q * errors, k))))


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


def _range_within(widths: Floats, k: int) -> Floats:
    """The probability (m,) that the range of k normal deviates is no more than the widths (m,)."""
    from scipy.special import ndtr  # start-up time

    nodes, weights = _places()
    z = FARTHEST * nodes
    density = np.exp(-(z**2) / 2) / math.sqrt(2 * math.pi) * weights * FARTHEST
    inside = ndtr(z) - ndtr(z - widths[:, None])
    return np.asarray(k * inside ** (k - 1) @ density)
