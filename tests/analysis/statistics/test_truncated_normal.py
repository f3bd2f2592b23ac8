"""Reference: scipy.stats.norm and scipy.stats.truncnorm."""

import numpy as np
import pytest
from scipy.stats import norm, truncnorm

from rearlog.analysis.statistics.truncated_normal import (
    log_tail,
    moments_within,
    moved_beyond,
    probability_within,
    quantile_beyond,
)

CUTS = np.array([-np.inf, -5.0, -1.0, 0.0, 0.7, 3.0, 8.0, 20.0, 35.0])


def test_the_tail_agrees_with_scipy():
    z = np.linspace(-9, 36, 2001)
    assert log_tail(z) == pytest.approx(norm.logsf(z), abs=1e-5)


def test_what_lies_between_is_reckoned_in_the_nearer_tail():
    low, high = np.array([8.0, -9.0, -1.0, -np.inf, 3.0]), np.array([9.0, -8.0, 2.0, -8.0, np.inf])
    far = norm.sf(8) - norm.sf(9)
    expected = [far, far, norm.cdf(2) - norm.cdf(-1), norm.sf(8), norm.sf(3)]
    assert probability_within(low, high) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("p", [0.05, 0.5, 0.95])
def test_quantiles_beyond_a_cut_agree_with_scipy(p):
    assert quantile_beyond(CUTS, p) == pytest.approx(truncnorm.ppf(p, CUTS, np.inf), abs=1e-4)


def test_draws_are_moved_beyond_the_cut_rank_by_rank():
    draws = np.random.default_rng(1).standard_normal(50)
    moved = moved_beyond(1.5, draws)
    assert moved == pytest.approx(truncnorm.ppf(norm.cdf(draws), 1.5, np.inf), abs=1e-4)
    assert moved_beyond(-np.inf, draws) == pytest.approx(draws, abs=1e-4)


@pytest.mark.parametrize(
    ("low", "high"),
    [
        (-np.inf, np.inf),
        (-np.inf, -3.0),
        (-0.2, 0.3),
        (-30.0, 2.0),
        (1.0, np.inf),
        (4.0, 9.0),
        (-12.0, -10.0),
        (15.0, np.inf),
        (25.0, 28.0),
    ],
)
def test_moments_within_bounds_agree_with_scipy(low, high):
    mean, variance = moments_within(np.array([low]), np.array([high]))
    wanted_mean, wanted_variance = truncnorm.stats(low, high, moments="mv")
    assert mean[0] == pytest.approx(wanted_mean, abs=1e-4)
    assert variance[0] == pytest.approx(wanted_variance, rel=0.02, abs=1e-7)


def test_what_is_known_exactly_has_no_variance():
    mean, variance = moments_within(np.array([1.25]), np.array([1.25]))
    assert mean[0] == pytest.approx(1.25)
    assert variance[0] == pytest.approx(0.0, abs=1e-15)
