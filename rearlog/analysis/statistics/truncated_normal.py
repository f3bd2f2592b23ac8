"""The standard normal distribution cut off, for arrays: what numpy lacks, without loading scipy."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Floats

_STEP = 0.005
_LAST = 37.0
"""Beyond this many standard deviations the tail is smaller than the smallest float."""


@cache
def _table() -> tuple[Floats, Floats]:
    z = np.arange(-_LAST, _LAST + _STEP, _STEP)
    return z, np.array([math.log(0.5 * math.erfc(each / math.sqrt(2))) for each in z])


def log_tail(z: npt.ArrayLike) -> Floats:
    """ln P(Z > z) (any shape), from a table of math.erfc; good to 4e-6."""
    return np.asarray(np.interp(np.asarray(z, dtype=float), *_table()))


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
    """Mean and variance of Z given that low < Z ≤ high, both (n,); bounds may be infinite.

    By Gauss–Legendre quadrature where the density matters: the closed forms cancel in the tails.
    """
    above, under = np.maximum(low, 0.0), np.minimum(high, 0.0)
    first = np.maximum(low, under - _reach(-under))
    last = np.minimum(high, above + _reach(above))
    points, weights = _rule()
    z = first[:, None] + (last - first)[:, None] * points
    log_density = -(z**2) / 2
    share = weights * np.exp(log_density - log_density.max(axis=1, keepdims=True))
    share /= share.sum(axis=1, keepdims=True)
    mean = (share * z).sum(axis=1)
    return mean, (share * (z - mean[:, None]) ** 2).sum(axis=1)


@cache
def _rule() -> tuple[Floats, Floats]:
    points, weights = np.polynomial.legendre.leggauss(32)
    return (points + 1) / 2, weights


def _reach(z: Floats) -> Floats:
    """How far beyond z the density still matters: it falls the faster, the larger z is."""
    return 8 / (1 + z / 2)
