import numpy as np
import pytest
from scipy.stats import norm, sem, ttest_1samp

from rearlog.analysis.checked_mean import checked_mean


def daily(days):
    """The bounds that checks at every whole day find for passages at these times."""
    high = np.ceil(days)
    return np.column_stack((high - 1, high))


def passages_of_spread(variance):
    """Two passages whose midpoints have this variance, found in intervals of one day."""
    middle = np.array([1, -1]) * (variance / 2) ** 0.5
    return np.column_stack((middle - 0.5, middle + 0.5))


def test_where_nothing_was_rounded_it_is_the_mean_of_a_reference_library():
    values = np.random.default_rng(4).gamma(6, 2, 15)
    found = checked_mean(values, [])

    assert found.se == pytest.approx(sem(values))
    assert found.interval == pytest.approx(tuple(ttest_1samp(values, 0).confidence_interval()))
    assert (found.check_error, found.in_step, found.freedom) == (0, False, 14)


def test_passages_that_were_seen_leave_no_error():
    values = np.array([3.0, 4.0, 6.0])
    seen = np.column_stack((values, values))

    assert checked_mean(values, [seen, seen + 9]) == checked_mean(values, [])


@pytest.mark.parametrize("sigma", [0.05, 0.15, 0.25, 0.35])
def test_the_shared_error_is_that_of_rounded_normal_passages(sigma):
    """Reference: the mean of normal passages after rounding, summed over the days with the normal
    distribution function, less the true mean; its mean square over 2,000 phases."""
    days = np.arange(-6, 8)
    biases = [
        (days - 0.5) @ np.diff(norm.cdf(np.append(-7, days), phase, sigma)) - phase
        for phase in np.linspace(0, 1, 2000, endpoint=False)
    ]
    found = checked_mean(np.ones(2), [passages_of_spread(sigma**2 + 1 / 6)])

    assert found.check_error**2 == pytest.approx(np.mean(np.square(biases)), rel=0.02)


def test_who_all_pass_between_the_same_checks_share_all_of_the_error():
    """By hand: an error that may be anything within h has the variance h²/12."""
    for n in (3, 1000):
        found = checked_mean(np.full(n, 2.0), [np.tile([4.0, 7.0], (n, 1))])
        assert found.check_error**2 == pytest.approx(9 / 12, rel=0.03)
        assert found.in_step
        assert found.se >= found.check_error


def test_both_ends_count():
    one = np.tile([4.0, 7.0], (5, 1))
    single, double = (checked_mean(np.full(5, 2.0), [one] * ends) for ends in (1, 2))

    assert double.check_error == pytest.approx(2**0.5 * single.check_error)


def test_spread_out_passages_share_nothing():
    days = np.random.default_rng(2).normal(20, 1.5, 60)
    found = checked_mean(days, [daily(days)])

    assert found.check_error < 1e-9
    assert not found.in_step
    assert found.se == pytest.approx(sem(days))


def test_few_individuals_that_show_the_same_days_are_not_certain():
    """By hand: rounding both ends to whole days has the variance 1/12 + 1/12."""
    spread = daily(np.arange(8) + 0.5)
    found = checked_mean(np.full(8, 2.0), [spread, spread + 2])

    assert found.se == pytest.approx((1 / 6 / 8) ** 0.5)
    assert found.sd == 0


def test_one_value_has_no_error_to_be_known():
    assert checked_mean(np.array([3.0]), []) is None


def test_the_unit_does_not_matter():
    rng = np.random.default_rng(7)
    days = rng.normal(4, 0.3, 20)
    one, ten = (checked_mean(unit * days, [unit * daily(days)]) for unit in (1, 10))

    assert ten.interval == pytest.approx(tuple(10 * end for end in one.interval))
    assert ten.in_step == one.in_step


def coverage(sigma, spread, n, every, runs, seed=1):
    """How often the interval holds the true mean duration, 5.3, when cohorts are looked at every
    `every` days; passages have the SD `sigma`, durations `spread`."""
    rng = np.random.default_rng(seed)
    inside = 0
    for _ in range(runs):
        entered = 9 + every * rng.random() + rng.normal(0, sigma, n)
        left = entered + rng.normal(5.3, spread, n)
        bounds = [every * daily(each / every) for each in (entered, left)]
        values = bounds[1].mean(axis=1) - bounds[0].mean(axis=1)
        low, high = checked_mean(values, bounds).interval
        inside += low <= 5.3 <= high
    return inside / runs


def test_the_interval_holds_where_a_plain_standard_error_does_not():
    """At σ = 0.2 a plain mean ± 1.96 SE of 100 individuals holds the truth in some 40 %."""
    assert coverage(0.2, 0.2, 100, 1, runs=200) > 0.93


@pytest.mark.slow
@pytest.mark.parametrize("n", [6, 24, 200])
@pytest.mark.parametrize("sigma", [0.05, 0.15, 0.25, 0.35, 0.5, 1.0])
@pytest.mark.parametrize("spread", [0.05, 0.2, 0.5])
def test_the_interval_is_right_or_cautious_whatever_the_spread(n, sigma, spread):
    assert coverage(sigma, spread, n, 1, runs=2000) > 0.935


@pytest.mark.slow
@pytest.mark.parametrize("every", [1, 2])
def test_the_interval_is_right_where_passages_are_spread_out(every):
    assert coverage(1.5, 0.7, 40, every, runs=4000) == pytest.approx(0.95, abs=0.012)
