"""The part of each group that something happens to, as a function of what the groups differ in."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.levels import Z_95
from rearlog.analysis.statistics.student_t import limit_95

STEPS = 60
"""Newton's method settles within ten; what has not by then has no maximum."""
_SETTLED = 1e-10


class BinomialFit(Struct, frozen=True, eq=False):
    """logit(part) = design · coefficients, of k groups.

    `covariance` (p, p) of the `coefficients` (p,) is that of binomial groups times `dispersion`:
    Pearson's χ² over its degrees of `freedom`, k − p, and no less than 1. `deviance` is that of the
    binomial distribution.
    """

    coefficients: Floats
    covariance: Floats
    dispersion: float
    freedom: int
    deviance: float


def binomial_fit(design: Floats, happened: Floats, n: Floats) -> BinomialFit | None:
    """Logistic regression of `happened` (k,) of `n` (k,) on a `design` (k, p), k > p.

    Groups that scatter by more than chance, as cohorts do that each had luck of their own, make all
    errors larger (quasi-binomial); that they scatter by less is taken for chance. None where the
    likelihood has no maximum: the design parts the groups where it happened to none from others.
    Source: McCullagh & Nelder 1989, Generalized Linear Models, 2nd ed., sections 4.4 and 4.5;
    Wedderburn 1974, Biometrika 61:439–447 (cited from memory).
    """
    at = np.zeros(design.shape[1])
    for _ in range(STEPS):
        part = _part(design @ at)
        information = (design.T * (n * part * (1 - part))) @ design
        try:
            step = np.linalg.solve(information, design.T @ (happened - n * part))
        except np.linalg.LinAlgError:
            return None
        at = at + step
        if np.abs(design @ step).max() < _SETTLED:
            break
    else:
        return None
    part = _part(design @ at)
    variance = n * part * (1 - part)
    freedom = len(n) - design.shape[1]
    dispersion = max(1.0, float(np.sum((happened - n * part) ** 2 / variance)) / freedom)
    covariance = dispersion * np.linalg.inv((design.T * variance) @ design)
    return BinomialFit(at, covariance, dispersion, freedom, _deviance(happened, n, part))


def dependence(fit: BinomialFit, happened: Floats, n: Floats) -> tuple[float, float]:
    """F and p of whether the parts differ with the design, whose first column is all ones.

    F = (deviance of one part for all − deviance) / (p − 1) / dispersion on p − 1 and k − p degrees
    of freedom; where the groups scatter by no more than chance, (p − 1)·F is χ². Source: see
    `binomial_fit`.
    """
    from scipy.special import chdtrc, fdtrc  # start-up time

    alike = np.full(len(n), happened.sum() / n.sum())
    more = len(fit.coefficients) - 1
    f = max(0.0, _deviance(happened, n, alike) - fit.deviance) / more / fit.dispersion
    p = fdtrc(more, fit.freedom, f) if fit.dispersion > 1 else chdtrc(more, more * f)
    return f, float(p)


def limit_of(dispersion: float, freedom: int) -> float:
    """How many standard errors the 95 % limits of a fit are off: Student's t where the scatter was
    estimated, else the normal deviate, for chance alone is known.

    Of invented cohorts of 30 whose mortality has an intraclass correlation of 0, 0.03 and 0.1, the
    limits of a quadratic logit hold the truth in 97, 92 and 87 of 100 with four temperatures, 97,
    95 and 93 with five, and 97, 95 and 95 with seven.
    """
    return limit_95(freedom) if dispersion > 1 else Z_95


def _part(logit: Floats) -> Floats:
    with np.errstate(over="ignore"):  # on the way to infinity
        return np.asarray(1 / (1 + np.exp(-logit)))


def _deviance(happened: Floats, n: Floats, part: Floats) -> float:
    """Twice what the log-likelihood of these parts lacks to that of the groups' own."""
    from scipy.special import xlogy  # start-up time: 0·ln 0 is 0

    seen, expected = np.array([happened, n - happened]), np.array([n * part, n * (1 - part)])
    return 2 * float(np.sum(xlogy(seen, seen / expected)))
