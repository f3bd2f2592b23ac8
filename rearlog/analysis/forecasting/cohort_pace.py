"""How fast a cohort is, beside what the profile leads one to expect.

t_b, the cohort's factor of what the profile gives for phase b, is 1 for a cohort like the
profile's. Cohorts differ with a standard deviation of COHORT_CV that all phases share and one of
PHASE_CV for each phase by itself; the rest of the model is that of `individual_state`.

The factors are those of a random-effects model. Each is set to its posterior mode, with the
curvature there for its variance (Laplace's method: Tierney & Kadane 1986, J. Am. Stat. Assoc.
81:82–86), and what it tells of the other phases is the update of a linear filter (Kalman 1960,
J. Basic Eng. 82:35–45). Both are cited from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.forecasting.individual_state import (
    FARTHEST,
    IndividualState,
    at_the_start,
    end_of,
    entering,
    leaving,
)
from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.phases import Phases
from rearlog.analysis.statistics.truncated_normal import (
    log_tail,
    moments_within,
    probability_within,
)

COHORT_CV = 0.08
"""How much cohorts differ in all phases alike (strain, food, where the thermometer stands), as a
share of K: an assumption."""

PHASE_CV = 0.03
"""How much cohorts differ in each phase by itself, as a share of K: an assumption."""

NEVER = 0.02
"""Share of individuals that do not go on in a phase (infertile eggs, diapause): an assumption. It
keeps a few that linger from making the whole cohort seem slow. Such a part that never goes on is
the cured part of Boag 1949, J. R. Stat. Soc. B 11:15–53 (cited from memory)."""

SLIPS = 8.0
"""How much farther off the ends of phases may lie that are slips of the pen or illnesses: an
assumption."""

LEAST_LIKELY = 1e-9
"""Nothing that was seen weighs more against a spread than what is as unlikely as this."""

_ROUNDS = 30
_CLOSE = 1e-6


@dataclass(frozen=True, eq=False)
class CohortPace:
    """The cohort's factors t of B phases: their `mean` (B,) and `covariance` (B, B), and how many
    individuals `finished` each phase while watched (B,).

    `log_likelihood` is that of all passages, with the factors integrated out."""

    mean: Floats
    covariance: Floats
    finished: Integers
    log_likelihood: float


@dataclass(frozen=True, eq=False)
class UsualPace:
    """What is expected of a cohort's factors of B phases before anything is seen: their `mean`
    (B,) and `covariance` (B, B)."""

    mean: Floats
    covariance: Floats


def usual_pace(size: int) -> UsualPace:
    """What the profile alone leads one to expect of the factors of so many phases."""
    shared, own = np.full((size, size), COHORT_CV**2), np.eye(size) * PHASE_CV**2
    return UsualPace(np.ones(size), shared + own)


def cohort_pace(seen: Passages, phases: Phases, usual: UsualPace | None = None) -> CohortPace:
    """Adjust the profile's K to a cohort: the more have finished a phase, the more it weighs.

    Phase by phase in order: the posterior mode of the factor, given the intervals in which the
    phase ended for those who left it and that it had not ended for the others, each predicted from
    where that individual stood. The gain of a Kalman filter carries the news to other phases.
    """
    size = len(phases.mean)
    before = usual or usual_pace(size)
    mean, covariance = before.mean, before.covariance
    finished = np.zeros(size, dtype=np.int64)
    stands, likelihood = at_the_start(len(seen.now)), 0.0
    for place in range(size):
        stands = entering(stands, seen, phases, place)
        prior, spread = float(mean[place]), float(covariance[place, place])
        mode, variance = _mode(stands, seen, phases, place, prior, spread)
        likelihood += _log_likelihood(stands, seen, phases, place, mode)
        likelihood += math.log(variance / spread) / 2 - (mode - prior) ** 2 / spread / 2
        gain = covariance[:, place] / spread
        mean = mean + gain * (mode - prior)
        covariance = covariance - np.outer(gain, gain) * (spread - variance)
        finished[place] = (seen.left[:, place] & stands.known).sum()
        stands = leaving(stands, seen, phases, place, mode)
    return CohortPace(mean, covariance, finished, likelihood)


def _mode(
    stands: IndividualState, seen: Passages, phases: Phases, place: int, prior: float, spread: float
) -> tuple[float, float]:
    """Mode and variance of one phase's factor, by Newton's method.

    For a normal amount that is known to lie in an interval, the slope of the log-likelihood in its
    mean is the shift of the mean by that knowledge, over the variance; its curvature is the part
    of the variance that the knowledge removes, over the variance squared.
    """
    need = float(phases.mean[place])
    if np.isnan(need):
        return prior, spread
    who = seen.inside[:, place] & stands.known
    low, high = seen.end_low[who, place], seen.end_high[who, place]
    mean, variance, _ = (each[who] for each in end_of(stands, need, phases.sd[place], 0.0))
    sd = np.sqrt(variance)
    mode = prior
    for _ in range(_ROUNDS):
        at = mean + need * mode
        z, left_over = moments_within((low - at) / sd, (high - at) / sd)
        weight = np.where(
            np.isfinite(high),
            FARTHEST / np.maximum(np.abs(z), FARTHEST),
            _goes_on((low - at) / sd),
        )
        slope = (weight * z / sd).sum() * need + (prior - mode) / spread
        curvature = (weight * (1 - left_over) / variance).sum() * need**2 + 1 / spread
        mode += slope / curvature
        if abs(slope / curvature) < _CLOSE:
            break
    return mode, 1 / curvature


def _log_likelihood(
    stands: IndividualState, seen: Passages, phases: Phases, place: int, factor: float
) -> float:
    """How likely the ends of a phase are to have come between the looks that they came between.

    NEVER of them are slips or illnesses, and lie anywhere within SLIPS times the spread.
    """
    need = float(phases.mean[place])
    if np.isnan(need):
        return 0.0
    who = seen.inside[:, place] & stands.known
    low, high = seen.end_low[who, place], seen.end_high[who, place]
    mean, variance, _ = (each[who] for each in end_of(stands, need, phases.sd[place], factor))
    sd = np.sqrt(variance)
    usual, slip = (
        probability_within((low - mean) / spread, (high - mean) / spread)
        for spread in (sd, SLIPS * sd)
    )
    likely = (1 - NEVER) * usual + NEVER * slip
    return float(np.log(np.maximum(likely, LEAST_LIKELY)).sum())


def _goes_on(z: Floats) -> Floats:
    """The probability that an individual still in its phase after z SD is only slow."""
    slow = (1 - NEVER) * np.exp(log_tail(z))
    return np.asarray(slow / (slow + NEVER))
