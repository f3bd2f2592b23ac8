"""Reference: the joint normal distribution of places and cohorts, conditioned by block algebra."""

import numpy as np
import pytest

from rearlog.analysis.forecasting.cohort_pace import CohortPace, usual_pace
from rearlog.analysis.forecasting.cohort_spread import SPREAD_SD, Spread
from rearlog.analysis.forecasting.experience import PLACE_SHARE, experience

SIZE = 3


def learned(looks, noise):
    """The posterior of a cohort's factors, each of them looked at with a variance, by hand."""
    usual = usual_pace(SIZE)
    gain = usual.covariance @ np.linalg.inv(usual.covariance + np.diag(noise))
    mean = usual.mean + gain @ (np.array(looks) - usual.mean)
    covariance = usual.covariance - gain @ usual.covariance
    return CohortPace(mean, covariance, np.zeros(SIZE, dtype=np.int64))


def test_past_cohorts_tell_of_the_next_what_a_joint_distribution_does():
    looks, noise = [[1.1, 1.2, 1.05], [1.15, 1.0, 1.2]], [[1e-3, 2e-3, 1e-3], [3e-3, 1e-3, 4e-3]]
    usual = usual_pace(SIZE)
    place, own = PLACE_SHARE * usual.covariance, (1 - PLACE_SHARE) * usual.covariance
    # looks at cohort 1, looks at cohort 2, factors of the next cohort: all share the place
    joint = np.kron(np.ones((3, 3)), place) + np.kron(np.eye(3), own)
    joint[:6, :6] += np.diag(np.concatenate(noise))
    gain = joint[6:, :6] @ np.linalg.inv(joint[:6, :6])
    mean = 1 + gain @ (np.concatenate(looks) - 1)
    covariance = joint[6:, 6:] - gain @ joint[:6, 6:]
    past = [(learned(*each), Spread()) for each in zip(looks, noise, strict=True)]
    told = experience(past, SIZE)
    assert told.pace.mean == pytest.approx(mean)
    assert told.pace.covariance == pytest.approx(covariance)


def test_a_cohort_of_which_nothing_was_seen_tells_nothing():
    nothing = CohortPace(
        *(usual_pace(SIZE).mean, usual_pace(SIZE).covariance), np.zeros(SIZE, dtype=np.int64)
    )
    told = experience([(nothing, Spread())], SIZE)
    assert told.pace.mean == pytest.approx(np.ones(SIZE))
    assert told.pace.covariance == pytest.approx(usual_pace(SIZE).covariance)
    assert (told.spread.mean, told.spread.variance) == pytest.approx((0.0, SPREAD_SD**2))


def test_uneven_cohorts_make_one_expect_an_uneven_one():
    uneven = Spread(0.4, 0.01)
    once, often = (
        experience([(learned([1.0] * 3, [1e-2] * 3), uneven)] * n, SIZE).spread for n in (1, 8)
    )
    assert 0 < once.mean < often.mean < 0.4
    assert often.variance < once.variance < SPREAD_SD**2
