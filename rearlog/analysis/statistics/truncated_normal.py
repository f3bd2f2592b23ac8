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

    By Gauss–Legendre quadrature where the density matters: the closed forms, differences of
    densities and tails, cancel far out.
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
    """Gauss–Legendre points and weights on (0, 1). numpy has them too, in a module slow to load.

    Source: Golub & Welsch 1969, Math. Comput. 23:221–230: eigenvalues and first elements of the
    eigenvectors of the matrix that the polynomials' recurrence makes.
    """
    k = np.arange(1, _POINTS)
    beside = k / np.sqrt(4 * k**2 - 1)
    points, vectors = np.linalg.eigh(np.diag(beside, -1))  # the lower triangle is read
    return (points + 1) / 2, vectors[0] ** 2


def _reach(z: Floats) -> Floats:
    """How far beyond z the density still matters: it falls the faster, the larger z is."""
    return 8 / (1 + z / 2)
