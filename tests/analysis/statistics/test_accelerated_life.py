"""Fits of interval-censored times, against lifelines and scipy, and by simulation."""

import math
import warnings

import numpy as np
import pytest
from lifelines import LogNormalFitter, WeibullFitter
from scipy.optimize import minimize
from scipy.special import digamma
from scipy.stats import gamma as gamma_distribution
from scipy.stats import lognorm, weibull_min

from rearlog.analysis.statistics import accelerated_life as method
from rearlog.analysis.statistics.accelerated_life import (
    FEWEST_EVENTS,
    TINY,
    GroupTimes,
    Times,
    accelerated_life,
)
from rearlog.analysis.statistics.differences import mean_test


@pytest.mark.parametrize("sigma", [0.1, 0.5, 1.3])
@pytest.mark.parametrize("law", method._laws(), ids=lambda law: law.name)
def test_the_laws_are_those_of_scipy(law, sigma):
    """Weibull of shape 1/σ, log-normal of the SD σ of ln time, gamma of the CV σ and mean 1."""
    reference = {
        "Weibull": weibull_min(1 / sigma),
        "log-normal": lognorm(sigma),
        "gamma": gamma_distribution(sigma**-2, scale=sigma**2),
    }[law.name]
    x = np.linspace(-1.5, 1.5, 13)
    assert law.below(x, sigma) == pytest.approx(reference.cdf(np.exp(x)))
    assert law.above(x, sigma) == pytest.approx(reference.sf(np.exp(x)), rel=1e-9, abs=1e-300)
    assert law.log_density(x, sigma) == pytest.approx(reference.logpdf(np.exp(x)) + x)
    assert law.log_mean(sigma) == pytest.approx(np.log(reference.mean()))


SEEN = [
    Times(np.array([1.4, 0.9, 0.8]), np.array([1.6, np.inf, 1.1]), np.array([0.0, 0.0, 0.4])),
    Times(np.array([1.2, 1.2, -0.2]), np.array([1.2, 1.2, 0.2]), np.array([0.4, 0.4, 0.4])),
    Times(np.array([0.6, 1.0]), np.array([1.0, 1.3]), np.array([0.4, 0.0])),
]
"""Three groups: between checks, waiting, exact (one of them twice), with and without a start that
was looked for, and one that passed through between the same two checks."""


@pytest.mark.parametrize("law", method._laws(), ids=lambda law: law.name)
def test_gradient_and_information_are_those_of_the_likelihood_by_differences(law):
    """Three groups of a design of two coefficients; the likelihood with wider differences."""
    sample = method._GroupedIntervals(SEEN)
    design = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 3.0]])
    at = np.array([0.1, -0.05, -0.9])

    def likelihood(point):
        eta = (design @ point[:2])[sample.group]
        return sample.count @ sample.log_probability(law, eta[None], point[2:])[0]

    step = 1e-3 * np.eye(3)
    gradient = [(likelihood(at + each) - likelihood(at - each)) / 2e-3 for each in step]
    bend = [
        [
            (likelihood(at + a + b) - likelihood(at + a - b) - likelihood(at - a + b)
             + likelihood(at - a - b)) / 4e-6
            for b in step
        ]
        for a in step
    ]  # fmt: skip
    _, slope, second = sample.derivatives(law, (design @ at[:2])[sample.group], at[2])
    found = method._assembled(sample, slope, second, design)
    assert found[0] == pytest.approx(np.array(gradient), rel=1e-3, abs=1e-3)
    assert found[1] == pytest.approx(-np.array(bend), rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(("low", "least"), [(4.0, math.log(0.12 / 4.5)), (-0.5, 0.0)])
def test_no_spread_is_sought_below_an_eighth_of_the_time_between_checks(low, least):
    """Of times of 4.5 and of 0, about, with a day between checks; times that are known have no such
    limit but that of the search."""
    times = np.full(3, low), np.full(3, low + 1)
    assert method._GroupedIntervals([Times(*times, np.ones(3))]).narrowest == pytest.approx(least)
    assert method._GroupedIntervals([Times(*times, np.zeros(3))]).narrowest == -6


def test_the_time_between_checks_is_the_mean_of_those_that_were_made():
    """By hand: 2, 2 and 5 days about a start, for times of 9.5, 9.5 and 12.5; one waits still."""
    low, high = np.array([9.0, 9.0, 12.0, 30.0]), np.array([10.0, 10.0, 13.0, np.inf])
    sample = method._GroupedIntervals([Times(low, high, np.array([2.0, 2.0, 5.0, 9.0]))])
    assert sample.narrowest == pytest.approx(math.log(0.12 * 3 / 10.5))


def test_what_is_far_out_is_reckoned_from_above_and_what_is_beyond_all_is_bounded():
    """By hand, Weibull of shape 10: exp(−1.4¹⁰) − exp(−1.5¹⁰); the second is exp(−3¹⁰) and less."""
    (law,) = (each for each in method._laws() if each.name == "Weibull")
    far = Times(np.array([1.4, 3.0, 1.4, 3.0]), np.array([1.5, 4.0, np.inf, 3.0]), np.zeros(4))
    sample = method._GroupedIntervals([far])
    found = sample.log_probability(law, np.zeros((1, 4)), np.array([math.log(0.1)]))[0]
    beyond = -(1.4**10)
    by_low = dict(zip(zip(sample.low, sample.high, strict=True), found, strict=True))
    assert by_low[1.4, np.inf] == pytest.approx(beyond)
    assert by_low[1.4, 1.5] == pytest.approx(math.log(math.exp(beyond) - math.exp(-(1.5**10))))
    assert by_low[3.0, 4.0] == by_low[3.0, 3.0] == pytest.approx(math.log(1e-280))


def checked(rng, n=60, mean=10.0, lost=0.2):
    """Gamma times found by checks each day, some of them never found."""
    low = np.floor(rng.gamma(20, mean / 20, n))
    return Times(low, np.where(rng.random(n) < lost, np.inf, low + 1), np.zeros(n))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    ("family", "fitter"), [("Weibull", WeibullFitter), ("log-normal", LogNormalFitter)]
)
def test_likelihood_and_mean_with_its_error_are_those_of_lifelines(seed, family, fitter):
    """The error of ln of the mean by the delta method from lifelines' covariance, times m/(m − 1).

    ln of the mean is μ + σ²/2, and ln λ + ln Γ(1 + 1/ρ).
    """
    sample = checked(np.random.default_rng(seed))
    found = accelerated_life([sample], family)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        reference = fitter().fit_interval_censoring(np.maximum(sample.low, 1e-9), sample.high)
    if family == "log-normal":
        mu, sigma = reference.mu_, reference.sigma_
        log_mean, gradient = mu + sigma**2 / 2, np.array([1.0, sigma])
    else:
        scale, shape = reference.lambda_, reference.rho_
        log_mean = math.log(scale) + math.lgamma(1 + 1 / shape)
        gradient = np.array([1 / scale, -digamma(1 + 1 / shape) / shape**2])
    variance = gradient @ reference.variance_matrix_.to_numpy() @ gradient
    m = int(np.isfinite(sample.high).sum())
    (group,) = found.groups

    assert found.log_likelihood == pytest.approx(reference.log_likelihood_, abs=1e-4)
    assert group.events == m
    assert math.log(group.mean) == pytest.approx(log_mean, abs=1e-4)
    assert group.mean_se == pytest.approx((variance * m / (m - 1)) ** 0.5, rel=1e-3)


@pytest.mark.parametrize("scale", [0.5, 0.08])
def test_a_gamma_fit_is_that_of_scipy_with_the_starts_anywhere_between_two_checks(scale):
    """Reference: scipy.stats.gamma under scipy.optimize, the start averaged over 200 places.

    The shorter ones of 1 day may begin and end between the same two checks, one of them in the
    first part of that time.
    """
    rng = np.random.default_rng(3)
    start = 5 + 4 * rng.random(40)
    end = start + rng.gamma(12, scale, 40)
    width = np.ones(40)
    middle = np.floor(start) + 0.5
    high = np.ceil(end) - middle
    high[0] = min(high[0], 0.2) if np.ceil(end[0]) == np.ceil(start[0]) else high[0]
    sample = Times(np.floor(end) - middle, high, width)
    off = (np.arange(200) + 0.5) / 200 - 0.5

    def lost(parameters):
        shape, scale = np.exp(parameters)
        law = gamma_distribution(shape, scale=scale)
        parts = law.cdf(sample.high[:, None] - off) - law.cdf(sample.low[:, None] - off)
        return -np.log(parts.mean(axis=1)).sum()

    reference = minimize(lost, [2.5, np.log(scale)], method="Nelder-Mead", options={"xatol": 1e-6})
    found = accelerated_life([sample], "gamma")

    assert found.log_likelihood == pytest.approx(-reference.fun, abs=0.01)
    assert found.groups[0].mean == pytest.approx(np.exp(reference.x.sum()), rel=1e-3)


@pytest.mark.parametrize("family", ["Weibull", "gamma"])
def test_the_family_of_many_is_found(family):
    rng = np.random.default_rng(2)
    days = 10 * rng.weibull(4, 600) if family == "Weibull" else rng.gamma(6, 2, 600)
    low = np.floor(days * 2) / 2

    assert accelerated_life([Times(low, low + 0.5, np.zeros(600))]).family == family


def test_who_is_still_waiting_counts():
    """A cohort of which the quick half has finished: its mean comes near that of all."""
    rng = np.random.default_rng(5)
    days = rng.gamma(30, 0.4, 60)
    now = np.floor(np.median(days))
    done = days < now
    low = np.where(done, np.floor(days), now)
    sample = Times(low, np.where(done, low + 1, np.inf), np.zeros(60))
    found = accelerated_life([sample]).groups[0]

    assert days[done].mean() < 0.93 * days.mean()
    assert found.mean == pytest.approx(days.mean(), rel=0.06)
    least, most = found.logarithm(0.0).interval
    assert least < math.log(12) < most


def test_the_unit_does_not_matter():
    sample = checked(np.random.default_rng(1))
    ten = Times(10 * sample.low, 10 * sample.high, 10 * sample.start_width)
    one, other = (accelerated_life([each]) for each in (sample, ten))

    assert other.family == one.family
    assert other.groups[0].mean == pytest.approx(10 * one.groups[0].mean, rel=1e-4)
    assert other.groups[0].mean_se == pytest.approx(one.groups[0].mean_se, rel=1e-3)


def test_all_in_one_interval_have_no_spread_to_be_told():
    sample = Times(np.full(12, 4.0), np.full(12, 5.0), np.zeros(12))
    found = accelerated_life([sample])

    assert 4 < found.groups[0].mean < 5
    assert math.isfinite(found.log_likelihood)


def test_too_few_and_wrong_times_are_refused():
    few = Times(np.array([1.0, 2.0, 2.0]), np.array([2.0, 3.0, np.inf]), np.zeros(3))
    with pytest.raises(ValueError, match="fewer than 3"):
        accelerated_life([few])
    with pytest.raises(ValueError, match="family"):
        accelerated_life([checked(np.random.default_rng(1))], "normal")
    with pytest.raises(ValueError, match="low end"):
        Times(np.array([2.0]), np.array([1.0]), np.zeros(1))
    with pytest.raises(ValueError, match="one length"):
        Times(np.array([2.0]), np.array([3.0]), np.zeros(2))


def test_an_error_that_all_share_counts_in_the_mean_of_logarithms():
    """By hand: 0.3 days of 10 are 0.03 of ln time, which with 0.04 make 0.05; the degrees of
    freedom, 5 − 1, are (0.05² / 0.04²)² times as many, for the shared part is known."""
    found = GroupTimes(5, 10.0, 0.04).logarithm(0.3)

    assert (found.n, found.check_error, found.rounding_se) == (5, pytest.approx(0.03), 0)
    assert found.mean == pytest.approx(math.log(10))
    assert found.sd == pytest.approx(0.04 * 5**0.5)
    assert found.se == pytest.approx(0.05)
    assert found.freedom == pytest.approx(4 * 1.5625**2)


def test_a_mean_that_seems_known_without_error_has_a_small_one():
    """Where nothing is known of the scatter, the shared error is all of it."""
    alone, shared = (GroupTimes(5, 10.0, 0.0).logarithm(error) for error in (0.0, 0.3))

    assert (alone.se, alone.freedom, alone.sd) == (TINY, 4, 0)
    assert shared.se == pytest.approx(0.03)
    assert shared.freedom > 1e9


def stage_seen(rng, n, every, cv, now=None, lost=0.0, mean=8.0):
    """Weibull stages of this mean and CV, entered over 4 days, both ends found by checks."""
    shape = {0.1: 12.15, 0.15: 7.91, 0.3: 3.71}[cv]  # by numerical solution
    start = every * rng.random() + 4 * rng.random(n)
    end = start + mean / math.gamma(1 + 1 / shape) * rng.weibull(shape, n)
    gone = np.where(rng.random(n) < lost, start + 1.4 * mean * rng.random(n), np.inf)
    last = np.minimum(gone, np.inf if now is None else now)
    middle = np.floor(start / every) * every + every / 2
    seen = np.floor(np.minimum(end, last) / every) * every
    high = np.where(end < last, seen + every, np.inf)
    return Times(seen - middle, high - middle, np.full(n, every))


def p_of(groups):
    return mean_test([each.logarithm(0.0) for each in accelerated_life(groups).groups]).p


def false_alarms(sizes, every, cvs, runs, now=None, lost=0.0, seed=1):
    """How often p < 0.05 by Welch's test of the logarithms of the means."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(runs):
        groups = [stage_seen(rng, *each, now, lost) for each in zip(sizes, every, cvs, strict=True)]
        if min(each.events for each in groups) >= FEWEST_EVENTS:
            found.append((p_of(groups) or 1) < 0.05)
    return np.mean(found)


def test_a_cohort_that_has_not_finished_is_not_called_quicker():
    """The same stage in a cohort that is over and in one that is half through."""
    rng = np.random.default_rng(4)
    shown = 0
    for _ in range(60):
        groups = [stage_seen(rng, 20, 1, 0.15), stage_seen(rng, 20, 1, 0.15, now=10.5)]
        shown += min(each.events for each in groups) >= FEWEST_EVENTS and p_of(groups) < 0.05
    assert shown <= 8


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sizes", "every", "cvs", "now", "lost"),
    [
        ((8, 8), (1, 1), (0.15, 0.15), None, 0),
        ((24, 24), (1, 3), (0.1, 0.1), None, 0.2),
        ((24, 24), (1, 1), (0.15, 0.15), 11.0, 0),
        ((12, 12, 12), (1, 1, 1), (0.15, 0.15, 0.15), None, 0.2),
    ],
)
def test_false_alarms_are_five_in_a_hundred(sizes, every, cvs, now, lost):
    assert false_alarms(sizes, every, cvs, 500, now, lost) < 0.075


@pytest.mark.slow
@pytest.mark.parametrize("sizes", [(6, 12), (12, 6), (30, 30)])
def test_where_spreads_differ_fits_apart_hold(sizes):
    assert false_alarms(sizes, (1, 1), (0.3, 0.1), 500) < 0.08


def test_times_are_lists_and_no_tables():
    table = np.ones((2, 3))
    with pytest.raises(ValueError, match="lists of one length"):
        Times(table, table, np.zeros((2, 3)))


@pytest.mark.parametrize(
    ("low", "high", "width"),
    [(-np.inf, 1, 0), (np.nan, 1, 0), (np.inf, np.inf, 0), (1, 2, -1), (-1, 0, 2), (2, 1.9, 0)],
)
def test_what_is_no_time_is_refused(low, high, width):
    with pytest.raises(ValueError, match="known low end"):
        Times(*(np.array([float(each)]) for each in (low, high, width)))


@pytest.mark.parametrize("lengths", [(1, 2, 2), (2, 1, 2), (2, 2, 1)])
def test_times_of_several_lengths_are_refused(lengths):
    with pytest.raises(ValueError, match="lists of one length"):
        Times(*(np.ones(n) for n in lengths))


def test_a_search_begins_at_the_middles_of_what_was_seen_of_a_group():
    """By hand: twice 2, and 4, of the first; whoever waits does not count. The spread is taken to
    be 0.03 at the least and 2 at the most."""
    low, high = np.array([1.0, 1.0, 3.0, 2.0]), np.array([3.0, 3.0, 5.0, np.inf])
    alike = Times(np.full(3, 6.5), np.full(3, 7.5), np.zeros(3))
    wide = Times(np.array([1e-3, 1e3]), np.array([1e-3, 1e3]), np.zeros(2))
    sample = method._GroupedIntervals([Times(low, high, np.zeros(4)), alike, wide])
    assert sample.start(0) == pytest.approx(
        (4 / 3 * math.log(2), math.log((2 / 9) ** 0.5 * math.log(2)))
    )
    assert sample.start(1) == pytest.approx((math.log(7), math.log(0.03)))
    assert sample.start(2) == pytest.approx((0, math.log(2)))
