"""The distribution of times that are known only to lie in an interval, without assuming its shape.

The estimate puts its mass on the innermost intervals: those that begin at the left end of some
observation, end at the right end of some observation and have no other end between. Every
observation covers an unbroken run of them, so all sums over observations are differences of
cumulative sums, and one pass costs no more than there are observations and innermost intervals.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.distinct import distinct

Indices = NDArray[np.intp]

TOLERANCE = 1e-9
"""Largest Kuhn–Tucker gap at which the estimate counts as found: the log-likelihood of n is then
within n times this of the highest possible."""
SWEEPS = 1000
SELF_CONSISTENT_STEPS = 10
BLOCK = 64
"""Most masses in one Newton step, which solves dense systems of up to that size."""
ROUNDING = 1e-12
QUANTILE_ROUNDING = 1e-7
DECIMALS = 9
"""Ends of intervals count as equal where they agree to so many decimals."""


class Turnbull(Struct, frozen=True, eq=False):
    """A distribution estimated from interval-censored times.

    `left`, `right`: the ends of the m innermost intervals (left, right] in ascending order, in the
    unit of the times; left == right is a single time, right is inf beyond the last time known.
    `mass`: the probability of each, summing to 1, exactly 0 where none belongs; how it lies within
    its interval is unknown. `log_likelihood`: natural logarithm.
    """

    left: Floats
    right: Floats
    mass: Floats
    log_likelihood: float

    def quantile(self, p: float) -> tuple[float, float] | None:
        """The innermost interval (left, right] that holds the p-quantile, 0 < p < 1.

        That is the earliest by whose end at least p of the mass has come. None where this takes
        mass beyond the last time known: so much was censored that the quantile is not reached.
        Raises ValueError where p is not between 0 and 1.
        """
        if not 0 < p < 1:
            raise ValueError(f"a quantile is asked for p between 0 and 1, not {p}")
        # A hair less than p, lest rounding pass over the interval that completes it.
        place = int(np.searchsorted(np.cumsum(self.mass), p - QUANTILE_ROUNDING))
        if np.isinf(self.right[place]):
            return None
        return float(self.left[place]), float(self.right[place])


def turnbull(left: ArrayLike, right: ArrayLike) -> Turnbull:
    """The nonparametric maximum likelihood estimate from interval-censored times.

    Takes `left` and `right`, shape (n,), in one unit: observation i lies in (left[i], right[i]];
    left == right is an exact time, right = inf a right-censored one. (a, b] holds an exact time at
    b and none at a. Ends are rounded to 9 decimals, lest the rounding errors of differences make
    two intervals overlap that only touch.

    Raises ValueError where the arrays do not fit together, are empty, hold NaN, an infinite left
    end or an interval that ends before it begins; ArithmeticError where the maximum cannot be
    found.

    Method: Turnbull 1976, J. R. Stat. Soc. B 38:290–295; the masses are unique, because each
    innermost interval is the last of some observation's run. Self-consistent (EM) steps alternate
    with Newton steps under the constraint that no mass is negative (Wang 2008, Comput. Stat. Data
    Anal. 52:2388–2402), until the Kuhn–Tucker condition (Gentleman & Geyer 1994, Biometrika
    81:618–623) holds.
    """
    left = np.asarray(left, dtype=np.float64).round(DECIMALS)
    right = np.asarray(right, dtype=np.float64).round(DECIMALS)
    if left.ndim != 1 or left.shape != right.shape or not left.size:
        raise ValueError("left and right must be lists of one length, and not empty")
    if not (np.isfinite(left) & (left <= right)).all():
        raise ValueError("each interval needs a finite left end and a right end not before it")
    inner_left, inner_right, first, last = _innermost(left, right)
    size, n = inner_left.size, left.size
    run, seen = np.unique(first * size + last, return_counts=True)
    sample = _Sample(run // size, run % size, seen / n, size)
    mass = _maximise(sample)
    log_likelihood = n * float(sample.share @ np.log(sample.probability(mass)))
    return Turnbull(inner_left, inner_right, mass, log_likelihood)


def _innermost(left: Floats, right: Floats) -> tuple[Floats, Floats, Indices, Indices]:
    """Ends of the innermost intervals, and the first and last one that each observation covers."""
    values, rank = np.unique(np.concatenate([left, right]), return_inverse=True)
    # At one value the order is: start of an exact time, end of an interval, open start.
    start = 3 * rank[: left.size] + np.where(left == right, 0, 2)
    end = 3 * rank[left.size :] + 1
    marks = distinct(np.concatenate([start, end]))
    starts = marks % 3 != 1
    inner = np.flatnonzero(starts[:-1] & ~starts[1:])
    inner_start, inner_end = marks[inner], marks[inner + 1]
    first = np.searchsorted(inner_start, start)
    last = np.searchsorted(inner_end, end, side="right") - 1
    return values[inner_start // 3], values[inner_end // 3], first, last


class _Sample(Struct, frozen=True, eq=False):
    """Observations as runs `first` to `last` of `size` innermost intervals, and their shares."""

    first: Indices
    last: Indices
    share: Floats
    size: int

    def probability(self, mass: Floats) -> Floats:
        """Of each observation."""
        below: Floats = np.append(0.0, np.cumsum(mass))
        return below[self.last + 1] - below[self.first]

    def objective(self, mass: Floats) -> float:
        """Mean log-likelihood less the total mass: its maximum needs no constraint to total 1."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return float(self.share @ np.log(self.probability(mass)) - mass.sum())

    def gradient(self, mass: Floats) -> Floats:
        """Of the mean log-likelihood by each mass; at the maximum 1, or ≤ 1 where the mass is 0."""
        pull = self.share / self.probability(mass)
        begun = np.bincount(self.first, pull, self.size)
        ended = np.bincount(self.last + 1, pull, self.size + 1)[:-1]
        slopes: Floats = np.cumsum(begun - ended)
        return slopes

    def curvature(self, mass: Floats, block: Indices) -> Floats:
        """Minus the second derivatives of the mean log-likelihood by the masses in the block."""
        size = block.size
        first = np.searchsorted(block, self.first)
        last = np.searchsorted(block, self.last, side="right") - 1
        met = first <= last
        pull = (self.share / self.probability(mass) ** 2)[met]
        runs = np.bincount(first[met] * size + last[met], pull, size * size).reshape(size, size)
        # Entry (j, k), j ≤ k, gathers the runs that begin by j and end at k or later.
        upper: Floats = np.triu(runs.cumsum(axis=0)[:, ::-1].cumsum(axis=1)[:, ::-1])
        return upper + np.triu(upper, 1).T


def _maximise(sample: _Sample) -> Floats:
    """The masses of highest likelihood."""
    mass: Floats = np.full(sample.size, 1 / sample.size)
    for sweep in range(1, SWEEPS + 1):
        for _ in range(SELF_CONSISTENT_STEPS):
            mass = mass * sample.gradient(mass)
        active = np.flatnonzero((mass > 0) | (sample.gradient(mass) > 1))
        # Blocks that meet elsewhere in every other sweep let mass pass between neighbours.
        first_cut = BLOCK if sweep % 2 else BLOCK // 2
        for block in np.split(active, range(first_cut, active.size, BLOCK)):
            mass = _newton_step(sample, mass, block)
        mass = mass / mass.sum()
        gap = float(sample.gradient(mass).max()) - 1
        if gap <= TOLERANCE:
            return mass
    raise ArithmeticError(f"no maximum of the likelihood in {SWEEPS} sweeps (gap {gap:.2g})")


def _newton_step(sample: _Sample, mass: Floats, block: Indices) -> Floats:
    """The masses after a Newton step within the block, halved until the objective rises enough."""
    slope = sample.gradient(mass)[block] - 1
    curvature = sample.curvature(mass, block)
    target = _nonnegative_minimum(curvature, slope + curvature @ mass[block])
    now, rise = sample.objective(mass), float(slope @ (target - mass[block]))
    step = 1.0
    while step > ROUNDING:
        moved = mass.copy()
        moved[block] = (1 - step) * mass[block] + step * target
        if sample.objective(moved) >= now + 0.1 * step * rise - ROUNDING:
            return moved
        step /= 2
    return mass


def _nonnegative_minimum(matrix: Floats, vector: Floats) -> Floats:
    """The x ≥ 0 that minimises x·matrix·x/2 − vector·x, the matrix being positive definite.

    Block principal pivoting (Portugal, Júdice & Vicente 1994, Math. Comput. 63:625–643): all
    entries on the wrong side change sides at once; if that does not help, one at a time.
    """
    scale = 1 / np.sqrt(np.diag(matrix))
    matrix, vector = matrix * scale * scale[:, None], vector * scale
    free = np.ones(vector.size, dtype=bool)
    fewest, patience = vector.size + 1, 3
    for _ in range(100 + 10 * vector.size):
        x = np.zeros(vector.size)
        x[free] = np.linalg.solve(matrix[np.ix_(free, free)], vector[free])
        wrong = np.where(free, x, matrix @ x - vector) < -ROUNDING
        count = int(wrong.sum())
        if count == 0:
            return np.maximum(x, 0) * scale
        if count < fewest:
            fewest, patience = count, 3
        elif patience > 0:
            patience -= 1
        else:
            wrong[: np.flatnonzero(wrong)[-1]] = False
        free ^= wrong
    raise ArithmeticError("no solution of a Newton step under the constraint of masses ≥ 0")
