"""Whether groups differ in times that are known only to lie in an interval, such as deaths found.

A death found is a death since the last look. Dated when found, it comes later in a cohort that is
looked at less often, and the usual log-rank test takes that for a difference in survival.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.turnbull import DECIMALS, Turnbull, turnbull

PERMUTATIONS = 1999
"""So many of the possible ways to deal the individuals out to the groups are tried."""
AT_ONCE = 2_000_000
"""About so many scores are dealt out at a time, which bounds the memory that it takes."""
TINY = 1e-9
"""A spread of scores below this part of their variance comes from rounding."""

Intervals = tuple[npt.ArrayLike, npt.ArrayLike]
"""Left and right ends, both (n,): as `turnbull` takes them."""


class NoLogRank(StrEnum):
    """Why no log-rank test could be made."""

    NOBODY = "nobody"
    """Nobody was under watch in a group."""
    TOO_FEW = "too_few"
    """There was one alone in a group."""
    NO_EVENTS = "no_events"
    """The event was seen of nobody."""
    ALL_ALIKE = "all_alike"
    """Nothing tells the times of one from those of another."""


class IntervalLogRank(Struct, frozen=True):
    """A log-rank test between groups of interval-censored times.

    `observed` are the events of each group, `expected` how many it would have had if all groups
    were alike. `chi2` is how far the mean scores of the groups lie apart, in units of what dealing
    the scores out would do, with `df` degrees of freedom. `statistic` is the sum of their squares
    weighted by group (Welch & James), and `p` its place among the permutations, which is right
    where groups were looked at differently too. All are None, `df` is 0, and `reason` says why,
    where nothing can be compared.
    """

    chi2: float | None
    df: int
    statistic: float | None
    p: float | None
    observed: tuple[int, ...]
    expected: tuple[float, ...]
    reason: NoLogRank | None = None


def interval_log_rank(groups: Sequence[Intervals], seed: int = 1) -> IntervalLogRank:
    """Whether two or more groups of interval-censored times differ; two-sided.

    Takes for each group the ends (left, right] of its times, in one unit: right = inf where the
    event was not seen. Groups need not have been looked at equally often, but when somebody looked
    must not depend on the event.
    Raises ValueError for fewer than two groups and for what `turnbull` refuses.

    Each individual has the score of the log-rank test on the NPMLE of all groups together, which
    is on average 0 whatever the checks, if the groups are alike: that of Sun 1996, Stat. Med.
    15:1387–1395, which is 1 less the cumulative hazard for a death seen, and minus the hazard for
    one censored. The p is by permutation of the scores (Fay & Shih 1998, J. Am. Stat. Assoc.
    93:387–396), of the statistic studentized group by group, since scores from rarer checks spread
    less: exact where groups were looked at alike, else right as they grow (Janssen 1997, Stat.
    Probab. Lett. 36:9–21). The permutations are drawn with the seed. Citations from memory.
    """
    if len(groups) < 2:
        raise ValueError("a log-rank test compares two or more groups")
    ends = [np.array([np.asarray(end, dtype=float) for end in group]) for group in groups]
    left, right = np.concatenate(ends, axis=1).round(DECIMALS)
    sizes = [group.shape[1] for group in ends]
    died = np.isfinite(right)
    starts = np.cumsum([0, *sizes[:-1]])
    observed = tuple(int(each.sum()) for each in np.split(died, starts[1:]))
    if min(sizes) < 2 or not died.any():
        few = NoLogRank.TOO_FEW if min(sizes) else NoLogRank.NOBODY
        return _none(observed, few if min(sizes) < 2 else NoLogRank.NO_EVENTS)
    scores = log_rank_scores(left, right, turnbull(left, right))
    if np.ptp(scores) < TINY:
        return _none(observed, NoLogRank.ALL_ALIKE)
    sums = np.add.reduceat(scores, starts)
    statistic = float(_studentized(scores[None, :], starts, sizes)[0])
    rng = np.random.default_rng(seed)
    as_far = 0
    rows = max(1, AT_ONCE // scores.size)
    for done in range(0, PERMUTATIONS, rows):
        deals = min(rows, PERMUTATIONS - done)
        drawn = rng.permuted(np.tile(scores, (deals, 1)), axis=1)
        far = _studentized(drawn, starts, sizes) >= statistic * (1 - TINY)
        as_far += int(far.sum())
    return IntervalLogRank(
        chi2=float((sums**2 / sizes).sum() / scores.var(ddof=1)),
        df=len(groups) - 1,
        statistic=statistic,
        p=(1 + as_far) / (1 + PERMUTATIONS),
        observed=observed,
        expected=tuple((np.array(observed) - sums).tolist()),
    )


def _none(observed: tuple[int, ...], reason: NoLogRank) -> IntervalLogRank:
    return IntervalLogRank(None, 0, None, None, observed, (), reason)


def log_rank_scores(left: Floats, right: Floats, estimate: Turnbull) -> Floats:
    """Sun's score of each observation (left, right], both (n,), under an estimate: shape (n,).

    (S(R)·Λ(R) − S(L)·Λ(L)) / (S(L) − S(R)), where Λ sums the mass of each innermost interval over
    the survival before it. They sum to 0 over all observations that the estimate is made of.
    """
    survival = np.append(1.0, 1 - np.cumsum(estimate.mass))
    survival[survival < TINY] = 0.0
    before = survival[:-1]
    hazard = np.divide(estimate.mass, before, out=np.zeros_like(before), where=before > 0)
    weighed = survival * np.append(0.0, np.cumsum(hazard))
    first = np.searchsorted(estimate.right, left, side="right")
    last = np.searchsorted(estimate.right, right, side="right")
    exact = left == right
    first[exact] = np.searchsorted(estimate.right, left[exact])
    return np.asarray((weighed[last] - weighed[first]) / (survival[first] - survival[last]))


def _studentized(scores: Floats, starts: npt.NDArray[np.int64], sizes: Sequence[int]) -> Floats:
    """Σ (mean − weighted mean of all)² · weight over the groups of each row, the weight of a group
    being its size over the variance of its scores: Welch 1951, Biometrika 38:330–336, numerator."""
    n = np.array(sizes, dtype=float)
    means = np.add.reduceat(scores, starts, axis=1) / n
    squares = np.add.reduceat(scores**2, starts, axis=1)
    floor = TINY * scores.var(axis=1, keepdims=True)  # a group whose scores are all alike
    weights = n / np.maximum((squares - n * means**2) / (n - 1), floor)
    middle = (weights * means).sum(axis=1, keepdims=True) / weights.sum(axis=1, keepdims=True)
    return np.asarray((weights * (means - middle) ** 2).sum(axis=1))
