"""Do groups differ, by how much, and how sure is it: tests of location and their correction."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.levels import CONFIDENCE, DIFFERENT, tails

FEWEST_FOR_TEST = 3
"""Values in each group below which no test is made: fewer say next to nothing of their spread."""

FEWEST_FOR_INTERVAL = 5
"""Values in each group below which no interval is given: the bootstrap interval of a difference of
medians covers the truth in 89 to 93 % of simulated cases with 3 or 4, in 95 % or more from 5 on."""

TINY = 1e-8
"""Differences below this (days, degree-days) come from rounding, not from animals."""


class Verdict(StrEnum):
    """What a test says of groups. That no difference was shown does not mean that there is none."""

    DIFFER = "differ"
    NOT_SHOWN = "not_shown_to_differ"
    NOT_TESTED = "not_tested"


def verdict(p: float | None) -> Verdict:
    """What a p value (corrected where need be) says at the level DIFFERENT; None: no test."""
    if p is None:
        return Verdict.NOT_TESTED
    return Verdict.DIFFER if p < DIFFERENT else Verdict.NOT_SHOWN


class NoTest(StrEnum):
    """Why no test could be made."""

    TOO_FEW = "too_few"
    """Fewer than FEWEST_FOR_TEST values in a group."""
    GROUP_ALIKE = "group_alike"
    """All values of some group are the same."""
    ONE_CLUSTER = "one_cluster"
    """All of some group are of one cage or one clutch, as which it may differ."""
    FEW_CLUSTERS = "few_clusters"
    """Some group is of two cages or clutches: too few to say how far such differ."""


class LocationTest(Struct, frozen=True):
    """The outcome of a test whether groups differ in location.

    `test` is "Welch" (`statistic`: t) or "Welch ANOVA" (F), `n` the sizes of the groups. Where no
    test can be made, `statistic` and `p` are None and `reason` says why; else `reason` is None.
    """

    test: str
    statistic: float | None
    p: float | None
    n: tuple[int, ...]
    reason: NoTest | None = None


def mean_test(groups: Sequence[CheckedMean]) -> LocationTest:
    """Whether the means of two or more groups differ, their spreads need not be equal; two-sided.

    The error of the checks counts (see `checked_mean`); where it is 0, the tests are the usual
    ones. Not by ranks: those differ where values stand on different grids, such as whole days times
    the degrees of two shelves, where checks round individuals in step alike, and where a small
    group spreads more than a large one, though the means do not.
    Raises ValueError for fewer than two groups.
    Source: Welch 1947, Biometrika 34:28–35; for more than two groups Welch 1951,
    Biometrika 38:330–336.
    """
    from scipy.special import fdtrc, stdtr  # start-up time

    if len(groups) < 2:
        raise ValueError("a test needs two groups or more")
    sizes = tuple(group.n for group in groups)
    test = "Welch" if len(groups) == 2 else "Welch ANOVA"
    if min(sizes) < FEWEST_FOR_TEST:
        return LocationTest(test, None, None, sizes, NoTest.TOO_FEW)
    if any(group.se < TINY for group in groups):
        return LocationTest(test, None, None, sizes, NoTest.GROUP_ALIKE)
    means, variances, freedom = np.array([(g.mean, g.se**2, g.freedom) for g in groups]).T
    if len(groups) == 2:
        t = float((means[0] - means[1]) / variances.sum() ** 0.5)
        return LocationTest(test, t, float(2 * stdtr(welch_freedom(*groups), -abs(t))), sizes)
    k, share = len(groups), 1 / variances / (1 / variances).sum()
    between = float(((means - share @ means) ** 2 / variances).sum() / (k - 1))
    lack = float(((1 - share) ** 2 / freedom).sum() / (k**2 - 1))
    f = between / (1 + 2 * (k - 2) * lack)
    return LocationTest(test, f, float(fdtrc(k - 1, 1 / (3 * lack), f)), sizes)


def welch_freedom(a: CheckedMean, b: CheckedMean) -> float:
    """The degrees of freedom of the difference of two means (Welch–Satterthwaite)."""
    return (a.se**2 + b.se**2) ** 2 / (a.se**4 / a.freedom + b.se**4 / b.freedom)


def holm(p_values: Sequence[float | None]) -> tuple[float | None, ...]:
    """The p values adjusted for their number, in the order given: the step-down of Holm.

    The i-th smallest of m is multiplied by m − i + 1, made no smaller than the one before and at
    most 1. None (no test was made) stays None and does not count in m.
    Source: Holm 1979, Scand. J. Stat. 6:65–70.
    """
    adjusted: list[float | None] = [None] * len(p_values)
    made = sorted((p, place) for place, p in enumerate(p_values) if p is not None)
    largest = 0.0
    for rank, (p, place) in enumerate(made):
        largest = max(largest, min(1.0, (len(made) - rank) * p))
        adjusted[place] = largest
    return tuple(adjusted)


class Difference(Struct, frozen=True):
    """A difference and its interval (see CONFIDENCE) in the unit of the values; its ends are None
    where n is too small."""

    estimate: float
    low: float | None
    high: float | None

    @property
    def turned(self) -> Difference:
        """The same of the second less the first."""
        low = None if self.high is None else -self.high
        return Difference(-self.estimate, low, None if self.low is None else -self.low)


class Ratio(Struct, frozen=True):
    """How many times as much one is as the other, with its interval (see CONFIDENCE)."""

    estimate: float
    low: float | None
    high: float | None

    @classmethod
    def of_logarithms(cls, gap: Difference) -> Ratio:
        """From the difference of two natural logarithms."""
        ends = (None if end is None else math.exp(end) for end in (gap.low, gap.high))
        return cls(math.exp(gap.estimate), *ends)

    @property
    def turned(self) -> Ratio:
        """How many times as much the other is as the one."""
        low = None if self.high is None else 1 / self.high
        return Ratio(1 / self.estimate, low, None if self.low is None else 1 / self.low)


class MediansDrawn(Struct, frozen=True, eq=False):
    """The medians (k,) of groups, and those of each group drawn again (resamples,); None of one
    with too few values for an interval."""

    medians: tuple[float, ...]
    drawn: tuple[Floats | None, ...]

    def difference(self, one: int, other: int) -> Difference:
        """The median of one group less that of another (places from 0), with its interval."""
        estimate = self.medians[one] - self.medians[other]
        first, second = self.drawn[one], self.drawn[other]
        if first is None or second is None:
            return Difference(estimate, None, None)
        low, high = np.quantile(first - second, tails(CONFIDENCE)).tolist()
        return Difference(estimate, low, high)


def resampled_medians(
    groups: Sequence[npt.ArrayLike], *, seed: int = 1, resamples: int = 10_000
) -> MediansDrawn:
    """The medians of groups, each an array (n,), and what chance makes of each, drawn once for all
    of their pairs: for a seeded 95 % percentile bootstrap interval of the difference of any two.

    Groups are drawn independently of each other, so that the difference of the draws of two is
    that of their bootstrap, whichever else there are; the intervals of pairs with a group in
    common rest on the same draws of it. There is none with fewer than `FEWEST_FOR_INTERVAL` values
    on either side. Raises ValueError for an empty array or values that are not finite.
    Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 13.
    """
    values = [np.sort(_values(each)) for each in groups]
    if min(each.size for each in values) == 0:
        raise ValueError("a median needs at least one value")
    rng = np.random.default_rng(seed)
    return MediansDrawn(
        tuple(float(np.median(each)) for each in values),
        tuple(
            _resampled_medians(each, resamples, rng) if each.size >= FEWEST_FOR_INTERVAL else None
            for each in values
        ),
    )


def mean_difference(a: CheckedMean, b: CheckedMean) -> Difference:
    """The mean of `a` less that of `b`, with its 95 % interval for unequal spreads.

    Unlike medians, means of midpoints are not drawn to the grid of the days on which somebody
    looked. There is no interval with fewer than `FEWEST_FOR_TEST` values on a side.
    Source: Welch 1947, Biometrika 34:28–35.
    """
    from scipy.special import stdtrit  # start-up time

    estimate, se = a.mean - b.mean, (a.se**2 + b.se**2) ** 0.5
    if min(a.n, b.n) < FEWEST_FOR_TEST or se < TINY:
        return Difference(estimate, None, None)
    margin = float(stdtrit(welch_freedom(a, b), tails(CONFIDENCE)[1]) * se)
    return Difference(estimate, estimate - margin, estimate + margin)


def _resampled_medians(values: Floats, resamples: int, rng: np.random.Generator) -> Floats:
    """Medians of `resamples` samples drawn with replacement from the sorted `values`.

    Only the middle of each sample is drawn: the k-th smallest of n places picked at random is
    ⌊n·u⌋ with u from Beta(k, n + 1 − k), and the smallest of the n − k above it is as far up the
    rest as Beta(1, n − k) says. This is the same distribution at a cost that does not grow with n.
    """
    n = values.size
    k = (n + 1) // 2
    u = rng.beta(k, n + 1 - k, resamples)
    middle = values[_places(u, n)]
    if n % 2:
        return middle
    above = u + (1 - u) * rng.beta(1, n - k, resamples)
    return (middle + values[_places(above, n)]) / 2


def _places(u: Floats, n: int) -> npt.NDArray[np.intp]:
    return np.minimum((n * u).astype(np.intp), n - 1)  # rounding may make u exactly 1


def _values(group: npt.ArrayLike) -> Floats:
    """The group as an array (n,) of floats; ValueError where it is none or has unknown values."""
    values = np.asarray(group, dtype=float)
    if values.ndim != 1 or not np.isfinite(values).all():
        raise ValueError("a group must be one array of finite values")
    return values
