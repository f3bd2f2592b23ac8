"""The 95 % limit of Student's t, without scipy: loading that takes longer than most answers."""

from __future__ import annotations

import math

import numpy as np

from rearlog.analysis.statistics.levels import CONFIDENCE

STEPS = 400
"""An even number of steps for Simpson's rule."""
ENOUGH_FREEDOM = 1e7
"""With more degrees of freedom than this, t differs by less than 1e-6 of it."""
_SMALLEST_STEP = 1e-13


def limit_95(freedom: float) -> float:
    """The t that |T| exceeds with a probability of 5 %, right to 1e-6 of it.

    `freedom`, the degrees of freedom, is 1 or more and need not be whole; raises ValueError for
    less.

    With t = √v·tan φ the density of Student (1908, Biometrika 6:1–25) goes with cos^(v − 1) φ.
    The integral of that rises ever more slowly, so Newton's steps from 0 on approach the φ that is
    looked for from below.
    """
    if not freedom >= 1:
        raise ValueError(f"t needs a degree of freedom or more, not {freedom}")
    power = min(freedom, ENOUGH_FREEDOM) - 1
    gammas = math.lgamma((power + 1) / 2) - math.lgamma((power + 2) / 2)
    wanted = CONFIDENCE * math.exp(gammas) * math.sqrt(math.pi) / 2
    angle, step = 0.0, wanted
    while step > _SMALLEST_STEP * angle:
        angle += step
        step = (wanted - _integral(angle, power)) / math.cos(angle) ** power
    return math.sqrt(power + 1) * math.tan(angle)


def _integral(end: float, power: float) -> float:
    """The integral of cos^power from 0 to an angle, by Simpson's rule."""
    heights = np.cos(np.linspace(0.0, end, STEPS + 1)) ** power
    weighted = heights[0] + 4 * heights[1::2].sum() + 2 * heights[2:-1:2].sum() + heights[-1]
    return float(weighted * end / STEPS / 3)
