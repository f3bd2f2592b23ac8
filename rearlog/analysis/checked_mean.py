"""The mean of what checks only bracket, and how far off it may be.

A check dates a passage to the middle of the interval in which it fell. Where the individuals of a
cohort pass at different times, some are dated early and some late, and in the mean that cancels.
Where they pass in step, all between the same two checks, they share one error, and no number of
individuals lessens it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rearlog.analysis.student_t import limit_95

Floats = npt.NDArray[np.float64]

IN_STEP = 0.5
"""Individuals passed in step where they share more than this part of the variance of their mean."""
HARMONICS = np.arange(1, 21)
"""The terms of the series that are taken: 97 % of it where all pass at once, else nearly all."""


@dataclass(frozen=True, slots=True)
class CheckedMean:
    """The mean of n values (days, or degree-days) that checks bracketed.

    `se` is its standard error, the error of the checks included; `check_error` that part of it
    which all individuals share. `freedom` are the degrees of freedom of `se`.
    """

    n: int
    mean: float
    sd: float
    se: float
    check_error: float
    freedom: float

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % limits of the mean (Student's t)."""
        margin = limit_95(self.freedom) * self.se
        return self.mean - margin, self.mean + margin

    @property
    def shared(self) -> float:
        """The part of the variance of the mean that all individuals share, 0 to 1."""
        return (self.check_error / self.se) ** 2 if self.se else 0.0

    @property
    def in_step(self) -> bool:
        """Whether individuals passed so close together that this is most of it."""
        return self.shared > IN_STEP


def checked_mean(values: Floats, passages: Sequence[Floats]) -> CheckedMean | None:
    """The mean of n values and its standard error; None for fewer than two values.

    `values` (n,): durations in days or degree-days. `passages`: the bounds (n, 2), in the same
    unit, of the passages at either end that had to be looked for; none where both are known.

    SE² = max(s², Σ h²/12)/n + Σ v. The first part is that of a mean, s² being no less than checks
    every h make of durations that are all alike (a few individuals may show the same number of
    days by chance). v is the variance of the mean error of rounding normal passages of SD σ to the
    middles of intervals of width h, their phase being any:
    v = h²/2π² Σ_k exp(−4π²k²σ²/h²)/k², from h²/12 where all pass at once to nothing where
    σ > h/2. σ² is the variance of the rounded passages less h²/6: twice what rounding adds, lest
    a spread that is itself rounded, or skewed, pass for a wide one. So means of individuals in step
    are given a larger error than they have on average, and others their own.

    Source: the Fourier series of the rounding error of a mean, as in Schneeweiss, Komlos & Ahmad
    2010, AStA Adv. Stat. Anal. 94:247–271 (cited from memory); degrees of freedom: Satterthwaite
    1946, Biometrics Bull. 2:110–114, the shared part being taken as known.
    """
    n = len(values)
    if n < 2:
        return None
    widths = [_width(bounds) for bounds in passages]
    own = max(float(values.var(ddof=1)), sum(h**2 for h in widths) / 12) / n
    shared = sum(
        _shared(float(bounds.mean(axis=1).var(ddof=1)), h)
        for bounds, h in zip(passages, widths, strict=True)
    )
    return CheckedMean(
        n=n,
        mean=float(values.mean()),
        sd=float(values.std(ddof=1)),
        se=float((own + shared) ** 0.5),
        check_error=float(shared**0.5),
        freedom=(n - 1) * ((own + shared) / own) ** 2 if own else n - 1,
    )


def _width(bounds: Floats) -> float:
    """The time between two checks: the root of the mean square, exact passages counting as 0."""
    return float(np.sqrt(np.mean((bounds[:, 1] - bounds[:, 0]) ** 2)))


def _shared(variance: float, width: float) -> float:
    """The variance of the error that passages of this variance share, both after rounding."""
    if width == 0:
        return 0.0
    spread = max(0.0, variance / width**2 - 1 / 6)
    terms = np.exp(-4 * np.pi**2 * HARMONICS**2 * spread) / HARMONICS**2
    return float(width**2 / (2 * np.pi**2) * terms.sum())
