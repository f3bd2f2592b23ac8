"""How much the individuals of a cohort differ, beside what the profile says of it.

One factor for the spread of all phases, for what makes a cohort uneven (eggs of several mothers,
crowding, food of changing quality) does so throughout. Before anything is seen its logarithm is
taken as normal about 0 with SPREAD_SD; what the passages say of it is their likelihood, with the
cohort's factors integrated out by Laplace's method (see `cohort_pace`). Of individuals whose looks
contradict each other it is not asked (see `forecast_model`): a slip of the pen that makes several
phases strange at once would speak louder than all the others.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.forecasting.cohort_pace import UsualPace, log_likelihoods
from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.phases import Phases

SPREAD_SD = 0.4
"""How far the spread of a cohort may be off the profile's, as the SD of its logarithm: an
assumption."""

_STEPS = (0.4, 0.25)


class Spread(Struct, frozen=True):
    """The logarithm of the factor by which a cohort's spread differs from the profile's."""

    mean: float = 0.0
    variance: float = SPREAD_SD**2

    @property
    def factor(self) -> float:
        """The mean of what is likely of the factor itself."""
        return float(np.exp(self.mean + self.variance / 2))

    def of(self, phases: Phases) -> Phases:
        """The phases with this spread between individuals."""
        return replace(phases, sd=phases.sd * self.factor)


def cohort_spread(
    seen: Passages, phases: Phases, usual: Spread | None = None, pace: UsualPace | None = None
) -> Spread:
    """Learn the spread of a cohort from what was seen of it; `usual` is what was expected.

    The logarithm of the likelihood is taken as a parabola through three points; once more about
    its top where that lies far off.
    """
    before = usual or Spread()
    middle = before.mean
    for step in _STEPS:
        at = middle + step * np.array((-1.0, 0.0, 1.0))
        seen_so = log_likelihoods(seen, phases, pace, np.exp(at))
        fits = (seen_so - (at - before.mean) ** 2 / before.variance / 2).tolist()
        slope = (fits[2] - fits[0]) / (2 * step)
        curvature = max((2 * fits[1] - fits[0] - fits[2]) / step**2, 1 / before.variance)
        moved = float(np.clip(slope / curvature, -2 * step, 2 * step))
        middle += moved
        if abs(moved) < step / 2:
            break
    return Spread(middle, 1 / curvature)
