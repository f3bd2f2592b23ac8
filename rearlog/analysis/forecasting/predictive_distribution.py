"""When each individual will have what its phases take: the distributions behind a forecast."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.forecasting.cohort_pace import CohortPace
from rearlog.analysis.forecasting.future_temperature import TemperatureCourse
from rearlog.analysis.forecasting.individual_state import IndividualState, end_of
from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.phases import Phases
from rearlog.analysis.stages.profile_values import USUAL_PACE
from rearlog.analysis.statistics.truncated_normal import moments_within, quantile_beyond


class PredictiveDistribution(Struct, frozen=True, eq=False):
    """The amounts at which n individuals will come into S stages (degree-days or days).

    `mean` and `sd` (n, S) are those of a normal distribution, which for the next stage is cut off
    below: it lies beyond `cut` (n, S) standard deviations (−inf: not cut). `common_sd` (n, S) is
    the part of `sd` that is the same for all. NaN for stages that have come, that are passed over,
    or that cannot be foretold. `next_stage` (n,) is the one to come next (−1: none).
    """

    mean: Floats
    sd: Floats
    cut: Floats
    common_sd: Floats
    next_stage: Integers

    def quantile(self, p: npt.ArrayLike) -> Floats:
        """The quantile p of each amount: shape (n, S), or (…, n, S) for p of shape (…, 1, 1)."""
        return np.asarray(self.mean + self.sd * quantile_beyond(self.cut, p))


def predict(
    seen: Passages,
    phases: Phases,
    cohort: CohortPace,
    stands: IndividualState,
    course: TemperatureCourse,
) -> PredictiveDistribution:
    """Foretell the end of every phase to come of everyone who still develops.

    The phase that an individual is in had not ended when it was last seen; what is learned from
    that (it is slow, its cohort is slow) is carried on to its later phases by their covariance.
    The sums are taken as normal, with the mean and the variance of the part that is cut off.
    Source: regression on a normal variable that is cut off, Tallis 1961, J. R. Stat. Soc. B
    23:223–229 (cited from memory); the weather's part: `heat.weather`.
    """
    shape = len(seen.now), len(phases.stages)
    mean, sd, cut, common_sd = (
        np.full(shape, value) for value in (np.nan, np.nan, -np.inf, np.nan)
    )
    found = PredictiveDistribution(mean, sd, cut, common_sd, np.full(shape[0], -1))
    for place in range(len(phases.mean)):
        who = np.flatnonzero(seen.to_come & (seen.now == place))
        found.next_stage[who] = phases.next_stage(place)
        if not np.isnan(phases.mean[place]):
            _foretell(found, who, place, seen, phases, cohort, stands)
    weather = course.variance(found.mean)
    sd = np.sqrt(found.sd**2 + weather)
    cut = np.where(np.isinf(found.cut), found.cut, found.cut * found.sd / sd)
    common_sd = np.sqrt(found.common_sd**2 + weather)
    return PredictiveDistribution(found.mean, sd, cut, common_sd, found.next_stage)


def _foretell(
    found: PredictiveDistribution,
    who: npt.NDArray[np.intp],
    place: int,
    seen: Passages,
    phases: Phases,
    cohort: CohortPace,
    stands: IndividualState,
) -> None:
    """Fill in the rows of those who are in one phase."""
    need, spread = phases.mean[place], phases.sd[place]
    pace, pace_variance = stands.pace[who], stands.pace_variance[who]
    mean, variance, with_pace = (
        each[who] for each in end_of(stands, need, spread, cohort.mean[place])
    )
    needs = np.zeros(len(phases.mean))
    needs[place] = need
    common = needs @ cohort.covariance @ needs
    variance = variance + common
    sd = np.sqrt(variance)
    cut = (seen.end_low[who, place] - mean) / sd
    excess, left_over = moments_within(cut, np.full(len(who), np.inf))
    goal = phases.next_stage(place)
    found.mean[who, goal], found.sd[who, goal], found.cut[who, goal] = mean, sd, cut
    found.common_sd[who, goal] = np.sqrt(common)
    later = np.zeros(len(phases.mean))
    spreads = own = 0.0
    for after in range(place + 1, len(phases.mean)):
        if phases.phases[after].optional:
            continue
        if np.isnan(phases.mean[after]):
            return
        later[after] = phases.mean[after]
        spreads += phases.sd[after]
        own += phases.sd[after] ** 2
        shared = np.sqrt(USUAL_PACE) * spreads
        added = later @ cohort.mean + shared * pace
        added_variance = (
            later @ cohort.covariance @ later + shared**2 * pace_variance + (1 - USUAL_PACE) * own
        )
        goal = phases.next_stage(after)
        covariance = needs @ cohort.covariance @ later + shared * with_pace
        slope = covariance / variance
        found.mean[who, goal] = mean + (1 + slope) * sd * excess + added
        found.sd[who, goal] = np.sqrt(
            (1 + slope) ** 2 * variance * left_over + added_variance - slope * covariance
        )
        every = needs + later
        found.common_sd[who, goal] = np.sqrt(every @ cohort.covariance @ every)
