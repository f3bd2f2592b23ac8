"""Where each individual stands: when it came into its phase, and how fast it is.

The model, an assumption of this project and that of the simulation too. Individual i spends
m_b t_b + s_b (√r p_i + √(1 − r) e_ib) in phase b: m_b and s_b are the profile's mean and SD, r =
USUAL_PACE is what the phases of one individual share, and p_i (its pace) and e_ib are standard
normal. t_b is the factor of its cohort. That the heat which individuals need has a distribution
of its own is the usual picture: Sharpe, Curry, DeMichele & Cole 1977, J. Theor. Biol. 66:21–38.

What the checks tell is taken in phase by phase by assumed density filtering: after each, what is
known of entry and pace is replaced by the normal distribution with the same moments. Source: Minka
2001, Expectation propagation for approximate Bayesian inference, Proc. 17th Conf. Uncertainty in
Artificial Intelligence, and before it Maybeck 1982, Stochastic Models, Estimation, and Control,
vol. 2, ch. 12 (the latter and Sharpe et al. cited from memory).
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.phases import Phases
from rearlog.analysis.stages.profile_values import USUAL_PACE
from rearlog.analysis.statistics.truncated_normal import moments_within

FARTHEST = 2.5
"""Deviations beyond this many SD (a slip of the pen, an illness) weigh no more than this many: the
bounded influence of Huber 1964, Ann. Math. Stat. 35:73–101."""


class IndividualState(Struct, frozen=True, eq=False):
    """Where n individuals stand: mean and variance of the amount at `entry` into the phase that
    each is in and of its `pace` p, and their covariance, all (n,), or (k, n) under k assumptions.
    `known` (n,) says whose entry is."""

    entry: Floats
    entry_variance: Floats
    pace: Floats
    pace_variance: Floats
    covariance: Floats
    known: Booleans


def individual_states(seen: Passages, phases: Phases, factors: Floats) -> IndividualState:
    """Where each individual stands on entering the phase that it is in, given the factors (B,)."""
    found = at_the_start(len(seen.now))
    for place in range(len(phases.mean)):
        found = entering(found, seen, phases, place)
        found = leaving(found, seen, phases, place, factors[place], phases.sd[place])
    return found


def end_of(
    state: IndividualState, need: float, spread: float | Floats, factor: float | Floats
) -> tuple[Floats, ...]:
    """Mean and variance of the amount at the end of a phase, and its covariance with the pace.

    `spread` and `factor` are numbers, or (k, 1) for k assumptions.
    """
    shared = spread * np.sqrt(USUAL_PACE)
    mean = state.entry + need * factor + shared * state.pace
    variance = (
        state.entry_variance
        + 2 * shared * state.covariance
        + shared**2 * state.pace_variance
        + spread**2 * (1 - USUAL_PACE)
    )
    return mean, variance, state.covariance + shared * state.pace_variance


def at_the_start(*shape: int) -> IndividualState:
    """n individuals that have not come into any phase yet; `shape` is (n,) or (k, n)."""
    zeros, nobody = np.zeros(shape), np.zeros(shape[-1], dtype=bool)
    return IndividualState(zeros, zeros, zeros, np.ones(shape), zeros, nobody)


def entering(
    before: IndividualState, seen: Passages, phases: Phases, place: int
) -> IndividualState:
    """Add those whose first phase this is: their entry lies anywhere in its interval.

    Where it is not known, they may be anywhere in the phase when they enter the cohort.
    """
    first = seen.inside[:, place] & ~seen.inside[:, :place].any(axis=1)
    low, high = seen.entry_low[:, place], seen.entry_high[:, place]
    known = ~np.isnan(low)
    need = np.nan_to_num(phases.mean[place])
    low, high = np.where(known, low, seen.entered - need), np.where(known, high, seen.entered)
    return replace(
        before,
        entry=np.where(first, (low + high) / 2, before.entry),
        entry_variance=np.where(first, (high - low) ** 2 / 12, before.entry_variance),
        known=np.where(first, known, before.known),
    )


def leaving(
    before: IndividualState,
    seen: Passages,
    phases: Phases,
    place: int,
    factor: float | Floats,
    spread: float | Floats,
) -> IndividualState:
    """Carry those who left a phase to the entry into the next.

    The end lies in its interval, which cuts its normal distribution off on both sides; entry and
    pace follow by their regression on it. `factor` and `spread` are as in `end_of`. Source: see the
    module; the moments of normal variables of which one is cut off: Tallis 1961, J. R. Stat. Soc. B
    23:223–229 (cited from memory).
    """
    need = phases.mean[place]
    who = seen.left[:, place]
    low, high = seen.end_low[who, place], seen.end_high[who, place]
    after = IndividualState(*(np.array(getattr(before, name)) for name in before.__struct_fields__))
    after.known[who] = True
    if np.isnan(need):
        after.entry[..., who] = (low + high) / 2
        after.entry_variance[..., who] = (high - low) ** 2 / 12
        after.covariance[..., who] = 0.0
        return after
    mean, variance, covariance = (each[..., who] for each in end_of(before, need, spread, factor))
    sd = np.sqrt(variance)
    z, left_over = moments_within((low - mean) / sd, (high - mean) / sd)
    # an entry that is only guessed tells nothing of the pace
    slope = np.where(before.known[who], covariance / variance, 0.0)
    after.entry[..., who], after.entry_variance[..., who] = mean + sd * z, variance * left_over
    after.pace[..., who] += slope * sd * np.clip(z, -FARTHEST, FARTHEST)
    after.pace_variance[..., who] -= slope**2 * variance * (1 - left_over)
    after.covariance[..., who] = slope * variance * left_over
    return after
