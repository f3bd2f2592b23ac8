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

import numpy as np
from msgspec import Struct

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


class CohortPace(Struct, frozen=True, eq=False):
    """The cohort's factors t of B phases: their `mean` (B,) and `covariance` (B, B), and how many
    individuals `finished` each phase while watched (B,)."""

    mean: Floats
    covariance: Floats
    finished: Integers


class UsualPace(Struct, frozen=True, eq=False):
    """What is expected of a cohort's factors of B phases before anything is seen: their `mean`
    (B,) and `covariance` (B, B)."""

    mean: Floats
    covariance: Floats


def usual_pace(size: int) -> UsualPace:
    """What the profile alone leads one to expect of the factors of so many phases."""
    shared, own = np.full((size, size), COHORT_CV**2), np.eye(size) * PHASE_CV**2
    return UsualPace(np.ones(size), shared + own)


def cohort_pace(seen: Passages, phases: Phases, usual: UsualPace | None = None) -> CohortPace:
    """Adjust the profile's K to a cohort: the more have finished a phase, the more it weighs."""
    found = _paces(seen, phases, usual, np.ones(1))
    return CohortPace(found.mean[0], found.covariance[0], found.finished)


def log_likelihoods(
    seen: Passages, phases: Phases, usual: UsualPace | None, spreads: Floats
) -> Floats:
    """How likely all passages are, (k,), were the spread between individuals k times as wide.

    `spreads` (k,) are the factors of the profile's; those of the pace are integrated out.
    """
    return _paces(seen, phases, usual, spreads).log_likelihood


class _Paces(Struct, frozen=True, eq=False):
    """The paces of one cohort under k assumptions: (k, B), (k, B, B), (B,) and (k,)."""

    mean: Floats
    covariance: Floats
    finished: Integers
    log_likelihood: Floats


def _paces(seen: Passages, phases: Phases, usual: UsualPace | None, spreads: Floats) -> _Paces:
    """Phase by phase in order: the posterior mode of the factor, given the intervals in which the
    phase ended for those who left it and that it had not ended for the others, each predicted from
    where that individual stood. The gain of a Kalman filter carries the news to other phases.
    """
    size = len(phases.mean)
    before = usual or usual_pace(size)
    mean = np.tile(before.mean, (len(spreads), 1))
    covariance = np.tile(before.covariance, (len(spreads), 1, 1))
    finished = np.zeros(size, dtype=np.int64)
    stands, likelihood = at_the_start(len(spreads), len(seen.now)), np.zeros(len(spreads))
    for place in range(size):
        stands = entering(stands, seen, phases, place)
        sd = phases.sd[place] * spreads[:, None]
        prior, own = mean[:, place, None], covariance[:, place, place, None]
        mode, variance = _mode(stands, seen, phases, place, sd, prior, own)
        likelihood += _log_likelihood(stands, seen, phases, place, sd, mode)
        likelihood += (np.log(variance / own) / 2 - (mode - prior) ** 2 / own / 2)[:, 0]
        gain = covariance[:, :, place] / own
        mean = mean + gain * (mode - prior)
        removed = gain[:, :, None] * gain[:, None, :] * (own - variance)[:, :, None]
        covariance = covariance - removed
        finished[place] = (seen.left[:, place] & stands.known).sum()
        stands = leaving(stands, seen, phases, place, mode, sd)
    return _Paces(mean, covariance, finished, likelihood)


def _mode(
    stands: IndividualState,
    seen: Passages,
    phases: Phases,
    place: int,
    spread: Floats,
    prior: Floats,
    own: Floats,
) -> tuple[Floats, Floats]:
    """Mode and variance of one phase's factor, (k, 1), by Newton's method.

    `spread` is that between individuals, `prior` and `own` are mean and variance of the factor
    before, all (k, 1). For a normal amount that is known to lie in an interval, the slope of the
    log-likelihood in its mean is the shift of the mean by that knowledge, over the variance; its
    curvature is the part of the variance that the knowledge removes, over the variance squared.
    """
    need = float(phases.mean[place])
    if np.isnan(need):
        return prior, own
    who = seen.inside[:, place] & stands.known
    low, high = seen.end_low[who, place], seen.end_high[who, place]
    mean, variance, _ = (each[:, who] for each in end_of(stands, need, spread, 0.0))
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
        slope = _over_all(weight * z / sd) * need + (prior - mode) / own
        curvature = _over_all(weight * (1 - left_over) / variance) * need**2 + 1 / own
        mode = mode + slope / curvature
        if (np.abs(slope / curvature) < _CLOSE).all():
            break
    return mode, 1 / curvature


def _over_all(of_each: Floats) -> Floats:
    """The sum over individuals, (k, 1) of (k, n)."""
    return np.asarray(of_each.sum(axis=1, keepdims=True))


def _log_likelihood(
    stands: IndividualState,
    seen: Passages,
    phases: Phases,
    place: int,
    spread: Floats,
    factor: Floats,
) -> Floats:
    """How likely the ends of a phase are to have come between the looks that they came between.

    (k,), for k spreads between individuals and factors, both (k, 1). NEVER of them are slips or
    illnesses, and lie anywhere within SLIPS times the spread.
    """
    need = float(phases.mean[place])
    if np.isnan(need):
        return np.zeros(len(spread))
    who = seen.inside[:, place] & stands.known
    low, high = seen.end_low[who, place], seen.end_high[who, place]
    mean, variance, _ = (each[:, who] for each in end_of(stands, need, spread, factor))
    sd = np.sqrt(variance)
    usual, slip = (
        probability_within((low - mean) / wide, (high - mean) / wide) for wide in (sd, SLIPS * sd)
    )
    likely = (1 - NEVER) * usual + NEVER * slip
    return np.asarray(np.log(np.maximum(likely, LEAST_LIKELY)).sum(axis=1))


def _goes_on(z: Floats) -> Floats:
    """The probability that an individual still in its phase after z SD is only slow."""
    slow = (1 - NEVER) * np.exp(log_tail(z))
    return np.asarray(slow / (slow + NEVER))
