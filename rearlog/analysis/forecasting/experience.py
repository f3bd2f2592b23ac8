"""What past cohorts of the same place lead one to expect of the next one.

A cohort's factors are those of its place and its own; of what cohorts differ by (see `cohort_pace`
and `cohort_spread`), PLACE_SHARE is taken to be the place: strain, food, where the thermometer
stands. Each past cohort tells of the place as far as its own factors are known: the update of a
normal variable by normal observations, in precisions (Lindley & Smith 1972, J. R. Stat. Soc. B
34:1–41, cited from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.cohort_pace import CohortPace, UsualPace, usual_pace
from rearlog.analysis.forecasting.cohort_spread import Spread

PLACE_SHARE = 0.5
"""Share of the variance between cohorts that is between places: an assumption."""


class Experience(Struct, frozen=True):
    """What is expected of the next cohort's pace and spread, from so many `cohorts`."""

    pace: UsualPace
    spread: Spread
    cohorts: int


def experience(past: Sequence[tuple[CohortPace, Spread]], size: int) -> Experience:
    """What past cohorts, each with what was learned of it, lead one to expect of B phases."""
    usual = usual_pace(size)
    if not past:
        return Experience(usual, Spread(), 0)
    paces = [(pace.mean, pace.covariance) for pace, _ in past]
    mean, covariance = _next(usual.mean, usual.covariance, paces)
    spreads = [(np.array([each.mean]), np.array([[each.variance]])) for _, each in past]
    start = Spread()
    log_factor, variance = _next(np.array([start.mean]), np.array([[start.variance]]), spreads)
    spread = Spread(float(log_factor[0]), float(variance[0, 0]))
    return Experience(UsualPace(mean, covariance), spread, len(past))


def _next(
    mean: Floats, covariance: Floats, learned: Sequence[tuple[Floats, Floats]]
) -> tuple[Floats, Floats]:
    """Mean (b,) and covariance (b, b) of the next cohort's values.

    `mean` and `covariance` are those of any cohort before; `learned` those of each past one, which
    started from there too.
    """
    own = (1 - PLACE_SHARE) * covariance
    start = np.linalg.inv(covariance)
    precision = start / PLACE_SHARE
    weighted = precision @ mean
    for found, left in learned:
        known = np.linalg.inv(left)
        told = known - start  # what was seen of it alone
        # what it tells of the place, of which it is off by its own part
        kept = np.eye(len(mean)) - told @ np.linalg.inv(told + np.linalg.inv(own))
        precision = precision + kept @ told
        weighted = weighted + kept @ (known @ found - start @ mean)
    place = np.linalg.inv(precision)
    return place @ weighted, place + own
