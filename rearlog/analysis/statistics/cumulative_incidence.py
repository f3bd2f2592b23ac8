"""How likely each of several ends is by a given time, where some were not followed to any of them.

An animal in a stage dies in it or completes it, whichever comes first: each rules out the other.
Who was lost or taken out alive would have come to one of them too; what became of those that were
followed as long stands for them.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.distinct import distinct
from rearlog.analysis.statistics.life_table import wilson

CENSORED = 0
"""The cause of an end that only ended the watch."""

ROUNDING = 1e-12


class CumulativeIncidence(Struct, frozen=True, eq=False):
    """The share that has come to each of m ends, by k ascending times, the first of them 0.

    `times` (k,) in the unit given; `events` (k, m): how many came to each end then. `incidence`
    and its `variance` (k, m) just after it. `waiting` (k,): the share that has come to none yet.
    """

    times: Floats
    events: NDArray[np.int64]
    incidence: Floats
    variance: Floats
    waiting: Floats


def cumulative_incidence(times: ArrayLike, causes: ArrayLike, ends: int) -> CumulativeIncidence:
    """The share that comes to each of several ends that rule each other out.

    Takes `times` (n,), all ≥ 0: when each individual came to its end, or was last followed; and
    `causes` (n,): 1 to `ends` for the end that it came to, 0 (CENSORED) where the watch ended
    first. Those censored at a time count as at risk at it.
    Raises ValueError where these do not fit together or there are none.

    Method: Aalen & Johansen 1978, Scand. J. Stat. 5:141–150. Variance by the delta method from
    Greenwood's and the binomial one of each step (Collett, Modelling Survival Data in Medical
    Research, 3rd ed., competing risks; it is p(1 − p)/n where nobody was censored).
    """
    when, cause = np.asarray(times, dtype=np.float64), np.asarray(causes)
    if when.ndim != 1 or when.shape != cause.shape or not when.size or ends < 1:
        raise ValueError("times and causes must be lists of one length, and not empty")
    if not (np.isfinite(when) & (when >= 0)).all() or not np.isin(cause, range(ends + 1)).all():
        raise ValueError(f"times must be known and not negative, causes from 0 to {ends}")
    grid = distinct(np.append(0.0, when))
    at_risk = when.size - np.searchsorted(np.sort(when), grid)
    place = np.searchsorted(grid, when)
    events = np.bincount(place * (ends + 1) + cause, minlength=grid.size * (ends + 1))
    events = events.reshape(grid.size, ends + 1)[:, 1:]
    ended = events.sum(axis=1)
    waiting = np.cumprod((at_risk - ended) / at_risk)
    before = np.append(1.0, waiting[:-1])
    incidence = np.cumsum(before[:, None] * events / at_risk[:, None], axis=0)
    incidence = np.where(incidence > 1 - ROUNDING, 1.0, incidence)
    variance = _variance(at_risk, events, ended, before, incidence)
    return CumulativeIncidence(grid, events, incidence, variance, waiting)


def _variance(
    at_risk: NDArray[np.int64],
    events: NDArray[np.int64],
    ended: NDArray[np.int64],
    before: Floats,
    incidence: Floats,
) -> Floats:
    """The variance of the shares at each time t, shape (k, m), by sums over all times i up to t:

    Σ (F(t) − F_i)²·d_i/(n_i(n_i − d_i)) + Σ S_i²·e_i(n_i − e_i)/n_i³
    − 2Σ (F(t) − F_i)·S_i·e_i/n_i², where e are the events of one end and d those of all.
    """
    n = at_risk.astype(np.float64)
    left = n - ended
    # where none is left, F(t) = F_i from there on, and the term is 0
    greenwood = np.divide(ended, n * left, out=np.zeros_like(n), where=left > 0)[:, None]
    survived, n = before[:, None], n[:, None]
    own = np.cumsum(survived**2 * events * (n - events) / n**3, axis=0)
    mixed = survived * events / n**2
    sums = [np.cumsum(part, axis=0) for part in (greenwood, greenwood * incidence)]
    square = np.cumsum(greenwood * incidence**2, axis=0)
    first = incidence**2 * sums[0] - 2 * incidence * sums[1] + square
    third = incidence * np.cumsum(mixed, axis=0) - np.cumsum(mixed * incidence, axis=0)
    variance = first + own - 2 * third
    return np.where(variance < ROUNDING, 0.0, variance)


class Share(Struct, frozen=True):
    """A share (0 to 1) with its 95 % limits."""

    estimate: float
    low: float
    high: float


def share_with_limits(estimate: float, variance: float, known: int) -> Share:
    """A share with limits that hold for few individuals, and for none or all of them.

    Wilson's limits for the number of individuals that would make this variance if all had been
    followed, n = p(1 − p)/variance. A share of 0 or 1 has no variance: `known`, the number
    whose end is known, stands in; 1 or more.
    Raises ValueError for a share outside 0 to 1.
    Source: Dorey & Korn 1987, Stat. Med. 6:679–687 (effective sample size); Wilson 1927, J. Am.
    Stat. Assoc. 22:209–212.
    """
    n = estimate * (1 - estimate) / variance if variance > 0 else known
    return Share(estimate, *(wilson(estimate * n, n) or (0.0, 1.0)))


class StageMortality(Struct, frozen=True):
    """What comes of those that enter a stage, were all followed to the end of it.

    `died` and `completed` are the shares that have by the time in the stage at which the last end
    was found; `waiting` is the share that has done neither, so that the mortality of the stage lies
    between `died` and `died` + `waiting`.
    """

    died: Share
    completed: Share
    waiting: float


DIED, COMPLETED = 1, 2


def stage_mortality(times: ArrayLike, causes: ArrayLike) -> StageMortality:
    """Death and completion as competing ends of a stage; who was lost, removed or is still in it
    is censored.

    Takes `times` (n,), the time in the stage at the check that found the end of it, or at the last
    look, and `causes` (n,): 1 (DIED), 2 (COMPLETED) or 0 (CENSORED). Dating both ends by the checks
    that found them keeps everybody at risk between the same checks together.
    Raises ValueError as `cumulative_incidence` does.
    Method: see `cumulative_incidence` and `share_with_limits`. Losses must not foretell deaths.
    """
    course = cumulative_incidence(times, causes, 2)
    ended = np.flatnonzero(course.events.any(axis=1))
    last = ended[-1] if ended.size else 0
    known = max(1, int(course.events.sum()))
    shares = zip(course.incidence[last].tolist(), course.variance[last].tolist(), strict=True)
    died, completed = (share_with_limits(*each, known) for each in shares)
    waiting = float(course.waiting[last])
    return StageMortality(died, completed, 0.0 if waiting < ROUNDING else waiting)
