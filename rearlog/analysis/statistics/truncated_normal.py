"""The standard normal distribution cut off, for arrays: what numpy lacks, without loading scipy.

Source: Johnson, Kotz & Balakrishnan 1994, Continuous Univariate Distributions, vol. 1, 2nd ed.,
ch. 13 (cited from memory).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Floats

_STEP = 0.005
_LAST = 37.0
"""Beyond this many standard deviations the tail is smaller than the smallest float."""
_POINTS = 32
"""Of the quadrature."""
_STEPS_TO_ZERO = 6
"""Each doubles the right digits; the first guess has three."""


@cache
def _table() -> tuple[Floats, Floats]:
    """Points z and ln P(Z > z): the density added up from the far end on, by Simpson's rule."""
    fine = np.arange(-_LAST, _LAST + _STEP / 4, _STEP / 2)
    density = np.exp(-(fine**2) / 2) / math.sqrt(2 * math.pi)
    strips = (density[:-2:2] + 4 * density[1:-1:2] + density[2::2]) * _STEP / 6
    beyond = math.erfc(_LAST / math.sqrt(2)) / 2
    tail = np.cumsum(np.concatenate(([beyond], strips[::-1])))[::-1]
    return fine[::2], np.log(np.minimum(tail, 1.0))


def log_tail(z: npt.ArrayLike) -> Floats:
    """ln P(Z > z) (any shape), from a table; good to 4e-6."""
    return np.asarray(np.interp(np.asarray(z, dtype=float), *_table()))


def probability_within(low: Floats, high: Floats) -> Floats:
    """P(low < Z ≤ high) (any shape), reckoned in the nearer tail; bounds may be infinite."""
    mirrored = low + high < 0
    near, far = np.where(mirrored, -high, low), np.where(mirrored, -low, high)
    return np.asarray(np.exp(log_tail(near)) - np.exp(log_tail(far)))


def quantile_beyond(cut: npt.ArrayLike, p: npt.ArrayLike) -> Floats:
    """The quantile p of Z given that Z > cut (shapes that broadcast); cut = −inf for all of Z."""
    return _with_tail(log_tail(cut) + np.log1p(-np.asarray(p, dtype=float)))


def moved_beyond(cut: npt.ArrayLike, z: npt.ArrayLike) -> Floats:
    """Draws z of Z as draws of Z given that Z > cut: the same quantile (shapes that broadcast)."""
    return _with_tail(log_tail(cut) + log_tail(z))


def _with_tail(log_probability: Floats) -> Floats:
    points, logs = _table()
    return np.asarray(np.interp(-log_probability, -logs, points))


def moments_within(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of Z given that low < Z ≤ high (any shape); bounds may be infinite.

    By Gauss–Legendre quadrature where the density matters: the closed forms, differences of
    densities and tails, cancel far out.
    """
    above, under = np.maximum(low, 0.0), np.minimum(high, 0.0)
    first = np.maximum(low, under - _reach(-under))
    last = np.minimum(high, above + _reach(above))
    points, weights = _rule()
    z = first[..., None] + (last - first)[..., None] * points
    log_density = -(z**2) / 2
    share = weights * np.exp(log_density - log_density.max(axis=-1, keepdims=True))
    share /= share.sum(axis=-1, keepdims=True)
    mean = (share * z).sum(axis=-1)
    return mean, (share * (z - mean[..., None]) ** 2).sum(axis=-1)


@cache
def _rule() -> tuple[Floats, Floats]:
    """Gauss–Legendre points and weights on (0, 1). numpy has them too, but slow to load.

    Newton's steps to the zeros of Legendre's polynomial, by its recurrence. Source: Abramowitz &
    Stegun 1964, Handbook of Mathematical Functions, 22.7.10, 22.8.5 and 25.4.29 (from memory).
    """
    points = np.cos(np.pi * (np.arange(_POINTS) + 0.75) / (_POINTS + 0.5))
    for _ in range(_STEPS_TO_ZERO):
        before, value = np.ones(_POINTS), points
        for n in range(2, _POINTS + 1):
            before, value = value, ((2 * n - 1) * points * value - (n - 1) * before) / n
        slope = _POINTS * (points * value - before) / (points**2 - 1)
        points = points - value / slope
    return (points + 1) / 2, 1 / (1 - points**2) / slope**2


def _reach(z: Floats) -> Floats:
    """How far beyond z the density still matters: it falls the faster, the larger z is."""
    return 8 / (1 + z / 2)
