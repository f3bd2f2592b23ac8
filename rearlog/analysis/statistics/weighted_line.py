"""The straight line through means that are known unequally well, and whether they bend from it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats


class LackOfFit(Struct, frozen=True):
    """Whether k means lie off a straight line by more than the scatter within groups explains.

    `f` is the mean square of their distances from the line in their own standard errors, on
    `df` and about `df_within` degrees of freedom; `p` how often chance alone makes it as large.
    """

    f: float
    df: int
    df_within: float
    p: float


class WeightedLine(Struct, frozen=True, eq=False):
    """y = intercept + slope · x, with weights 1/SE².

    `covariance` (2, 2) of (intercept, slope) comes from the standard errors of the means;
    `scatter` is how many times as large, in variance, the distances from the line are (1 where
    they are smaller, or there are two points).
    """

    intercept: float
    slope: float
    covariance: Floats
    scatter: float
    lack_of_fit: LackOfFit | None


def weighted_line(x: Floats, y: Floats, se: Floats, freedom: Floats) -> WeightedLine:
    """Weighted least squares of means y on x, with standard errors `se` on `freedom`; all (k,).

    k ≥ 2, not all of x alike, `se` above 0. The test of lack of fit needs k ≥ 3.
    Source of the line and of lack of fit against pure error: Draper & Smith 1998, Applied
    Regression Analysis, 3rd ed., sections 2.1 and 9.2 (cited from memory); see `unexplained`.
    """
    design = np.column_stack((np.ones_like(x), x))
    coefficients, covariance, missed = _fit(design, y, se)
    found = unexplained(design, y, se, freedom) if x.size > 2 else None
    spare = x.size - 2
    return WeightedLine(
        float(coefficients[0]),
        float(coefficients[1]),
        covariance,
        max(1.0, float(missed @ missed) / spare) if spare else 1.0,
        found,
    )


def unexplained(design: Floats, y: Floats, se: Floats, freedom: Floats) -> LackOfFit:
    """Whether k means y differ by more than a linear model with this `design` (k, m), m < k, says.

    T = Σ ((y − fit)/SE)² over k − m would be F with a common variance. Here each mean has a
    variance of its own, estimated on `freedom`, so that T is divided by c = q + 2A − 6A/(q + 2)
    and compared with F on q and q·(q + 2)/(3A), with q = k − m and A = Σ (1 − leverage)²/freedom.
    With a constant alone this is Welch's test of means.
    Source: Johansen 1980, Biometrika 67:85–92 (cited from memory); Welch 1951, Biometrika
    38:330–336.
    """
    from scipy.special import fdtrc  # start-up time

    _, covariance, missed = _fit(design, y, se)
    q = design.shape[0] - design.shape[1]
    leverage = np.einsum("ki,ij,kj->k", design, covariance, design) / se**2
    a = float(np.sum((1 - leverage) ** 2 / freedom))
    f = float(missed @ missed) / (q + 2 * a - 6 * a / (q + 2))
    df_within = q * (q + 2) / (3 * a)
    return LackOfFit(f, q, df_within, float(fdtrc(q, df_within, f)))


def _fit(design: Floats, y: Floats, se: Floats) -> tuple[Floats, Floats, Floats]:
    """The coefficients (m,), their covariance (m, m), and the distances in standard errors (k,)."""
    scaled = design / se[:, None]
    covariance = np.asarray(np.linalg.inv(scaled.T @ scaled), dtype=float)
    coefficients = covariance @ scaled.T @ (y / se)
    return coefficients, covariance, (y - design @ coefficients) / se
