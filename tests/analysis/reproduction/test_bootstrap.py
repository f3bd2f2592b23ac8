"""Limits from resamples, beside those of scipy."""

import math

import numpy as np
import pytest
from scipy import stats

from rearlog.analysis.reproduction.bootstrap import acceleration, at_rank, bca


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_limits_are_those_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    data = rng.exponential(3.0, 40)
    found = stats.bootstrap(
        (data,), np.mean, method="BCa", n_resamples=9999, vectorized=True, rng=rng
    )
    without = (data.sum() - data) / 39
    ours = bca(float(data.mean()), found.bootstrap_distribution, without)
    ends = found.confidence_interval
    assert ours.low == pytest.approx(ends.low, abs=0.01)
    assert ours.high == pytest.approx(ends.high, abs=0.01)
    assert ours.se == pytest.approx(found.standard_error, rel=1e-9)
    plain = np.quantile(found.bootstrap_distribution, [0.025, 0.975])
    assert abs(ours.high - plain[1]) > 0.01  # the correction does something


def test_draws_without_an_end_keep_their_place() -> None:
    draws = np.array([*np.arange(1.0, 98.0), math.inf, math.inf, math.inf, math.nan])
    found = bca(50.0, draws, np.array([1.0, 1.0]))
    assert found.high is None
    assert found.low == 3.0
    assert found.se == pytest.approx(np.arange(1.0, 98.0).std(ddof=1))


def test_where_all_draws_lie_on_one_side_the_limits_are_percentiles() -> None:
    draws = np.arange(1000.0)
    assert (bca(-1.0, draws, np.array([1.0, 2.0])).low, at_rank(draws, 0.975)) == (25.0, 975.0)
    assert bca(-1.0, draws, np.array([1.0, 2.0])).high == 975.0
    nothing = bca(1.0, np.array([math.nan, 1.0]), np.array([1.0]))
    assert (nothing.se, nothing.low, nothing.high) == (None, None, None)
    two = bca(1.0, np.array([0.0, 2.0]), np.array([1.0, 1.0]))
    assert (two.se, two.low, two.high) == (pytest.approx(2**0.5), 0.0, 2.0)


def test_ranks_never_pass_the_last_draw() -> None:
    assert at_rank(np.array([1.0, 2.0]), 1.0) == 2.0
    assert at_rank(np.array([1.0, math.inf]), 0.9) is None
    assert at_rank(np.array([-math.inf, 1.0]), 0.1) is None


def test_the_acceleration_is_the_skewness_of_the_jackknife() -> None:
    values = np.array([1.0, 2.0, 4.0, 9.0, 9.5])
    expected = -stats.skew(values) / (6 * len(values) ** 0.5)
    assert acceleration(values) == pytest.approx(expected)
    assert acceleration(np.array([2.0, 2.0])) == 0.0
    assert acceleration(np.array([2.0, math.nan, 3.0])) == 0.0


def test_no_jackknife_is_so_skew_that_the_correction_breaks_down() -> None:
    for n in (5, 50, 5000):
        one_off = np.array([0.0] + [1.0] * (n - 1))
        assert abs(acceleration(one_off)) < 1 / 6


def test_draws_on_one_side_give_percentiles() -> None:
    """Of 200 draws in order, those of the places 5 and 195."""
    draws, without = np.arange(200.0), np.array([1.0, 2.0, 4.0])
    for estimate in (-1.0, 200.0):
        found = bca(estimate, draws, without)
        assert (found.low, found.high) == (5.0, 195.0)
