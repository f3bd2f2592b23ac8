"""Bounds and limits of the median, against references where times are known and by simulation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.utils import median_survival_times, qth_survival_time
from scipy.stats import gamma as gamma_distribution
from scipy.stats import quantile_test

from rearlog.analysis.statistics.interval_median import interval_median
from rearlog.analysis.statistics.turnbull import turnbull

HALF_HOUR = 0.5 / 24


def looked_at(rng, n, every, mean, cv, laid_within, lost=0.0, start_seen=True):
    """Gamma durations in (low, high], from a start that is known or that a check found; the true
    ones, and the population's median."""
    law = gamma_distribution(1 / cv**2, scale=mean * cv**2)
    start = 20 + rng.random() * every + laid_within * rng.random(n)
    days = law.rvs(n, random_state=rng)
    gone = np.where(rng.random(n) < lost, mean * 1.6 * rng.random(n), np.inf)
    end = start + days
    high, low = np.ceil(end / every) * every, np.floor(end / every) * every
    # whoever is gone was seen last at the check before
    watched = start + gone > end
    low = np.where(watched, low, np.floor((start + gone) / every) * every)
    if start_seen:
        begun = np.column_stack((start, start))
    else:
        begun = np.column_stack((np.floor(start / every), np.ceil(start / every))) * every
    left = np.maximum(low - begun[:, 1], 0.0)
    return left, np.where(watched, high - begun[:, 0], np.inf), days, law.median()


def test_the_narrow_interval_of_the_estimate_is_not_where_the_median_must_lie():
    """Laid within half an hour and looked at once a day: the NPMLE's own interval misses the
    cohort's median now and then, the bounds never do."""
    rng = np.random.default_rng(1)
    missed = 0
    for _ in range(60):
        left, right, days, _ = looked_at(rng, 20, 1.0, 5.4, 0.1, HALF_HOUR)
        low, high = turnbull(left, right).quantile(0.5)  # type: ignore[misc]
        found, middle = interval_median(left, right), np.sort(days)[9]
        missed += not low <= middle <= high
        assert found.low <= middle <= found.high
        assert found.high - found.low < 1 + HALF_HOUR
    assert missed > 10


@pytest.mark.parametrize("n", [5, 8, 30])
def test_the_bounds_always_hold_the_median_where_nobody_was_lost(n):
    rng = np.random.default_rng(n)
    for _ in range(200):
        left, right, days, _ = looked_at(rng, n, 1.0, 5.4, 0.15, 2.0, start_seen=False)
        found = interval_median(left, right)
        assert found.low <= np.sort(days)[(n + 1) // 2 - 1] <= found.high


def test_known_times_have_the_median_and_the_limits_of_a_reference_library():
    rng = np.random.default_rng(5)
    days, ended = rng.weibull(2, 40) * 10, rng.random(40) < 0.8
    reference = KaplanMeierFitter().fit(days, ended)
    limits = median_survival_times(reference.confidence_interval_).to_numpy()[0]
    found = interval_median(days, np.where(ended, days, np.inf))

    assert found.low == found.high == reference.median_survival_time_
    assert (found.population_low, found.population_high) == tuple(limits)


@pytest.mark.parametrize("n", [6, 9, 20, 75, 400])
def test_known_times_have_the_limits_of_the_sign_test(n):
    """Reference: scipy.stats.quantile_test, whose limits take the same ordered values."""
    times = np.arange(1.0, n + 1)
    found = interval_median(times, times)
    reference = quantile_test(times, q=0, p=0.5).confidence_interval(0.95)

    assert (found.population_low, found.population_high) == (reference.low, reference.high)


def test_all_of_those_left_at_one_check_are_a_limit():
    """By hand: 18 of 20 passed between the same two looks, two were lost on the way."""
    left, right = np.r_[1.0, 2.0, np.full(18, 3.0)], np.r_[np.inf, np.inf, np.full(18, 4.0)]
    found = interval_median(left, right)

    assert (found.low, found.high) == (3, 4)
    assert (found.population_low, found.population_high) == (3, 4)


def test_a_median_that_is_not_reached_has_no_upper_end():
    """By hand: two of four have come, one of them before day 5."""
    found = interval_median([3, 5, 5, 5], [4, 6, np.inf, np.inf])
    assert (found.low, found.high, found.events) == (5, 6, 2)
    found = interval_median([3, 5, 5, 5], [4, np.inf, np.inf, np.inf])
    assert (found.low, found.high) == (None, None)


def test_quartiles_lie_between_those_of_the_ends():
    """Reference: lifelines' estimates from the least and from the most that each can have been."""
    rng = np.random.default_rng(3)
    low = np.floor(rng.gamma(8, 2, 41))
    ended = rng.random(41) < 0.9
    found = interval_median(low, np.where(ended, low + 2, np.inf))
    for part, bounds in zip((0.25, 0.5, 0.75), found.quartiles, strict=True):
        ends = (low, np.where(ended, low + 2, low))
        curves = [KaplanMeierFitter().fit(end, ended) for end in ends]
        reference = [qth_survival_time(1 - part, each.survival_function_) for each in curves]
        assert bounds == tuple(reference)


@given(st.lists(st.tuples(st.integers(0, 12), st.integers(1, 3), st.booleans()), min_size=1))
def test_no_bound_lies_beyond_its_other_end(times):
    """Also where some were lost: of the left ends as many can be at risk longer."""
    left = np.array([float(begin) for begin, _, _ in times])
    right = np.array([begin + wide if ended else np.inf for begin, wide, ended in times])
    found = interval_median(left, right)
    ends = [each for each in found.quartiles if each is not None]
    ends.append((found.population_low or 0.0, found.population_high))
    assert all(high is None or low <= high for low, high in ends)


def test_the_lost_can_make_the_quartile_of_the_left_ends_the_later_one():
    # left ends: 2 of 5 end at 1, then two are lost, and the last ends at 3; right ends: 2 of 4 at 2
    left, right = [1.0, 1.0, 1.0, 2.0, 3.0], [np.inf, 2.0, 2.0, np.inf, 4.0]
    fits = [
        KaplanMeierFitter().fit(times, np.isfinite(right))
        for times in (left, np.where(np.isfinite(right), right, left))
    ]
    ends = sorted(fit.median_survival_time_ for fit in fits)
    found = interval_median(left, right)
    assert [found.low, found.high] == ends


def test_the_lost_can_make_the_limit_from_the_left_ends_the_later_one():
    """By hand: 100 are lost at 1. Of the left ends 20 of 126 come before, and all that are left at
    3; of the right ends 20 of 26 at 2, which is more than half with its limits."""
    left = np.repeat([1.0, 1.0, 3.0], [20, 100, 6])
    right = np.repeat([2.0, np.inf, 4.0], [20, 100, 6])
    found = interval_median(left, right)
    assert (found.population_low, found.population_high) == (2, 3)
    fewer = interval_median(left[:-1], right[:-1])  # five that are left at 3 are too few for one
    assert (fewer.population_low, fewer.population_high) == (None, 2)


def test_five_are_too_few_for_limits():
    found = interval_median(np.arange(5.0), np.arange(1.0, 6))
    assert (found.low, found.high) == (2, 3)
    assert (found.population_low, found.population_high) == (None, None)


@pytest.mark.parametrize(("events", "known"), [(5, False), (6, True)])
def test_so_many_must_have_come_that_limits_are_told_with_one_lost(events, known):
    """Reference: lifelines' limits of the median."""
    days = np.arange(1.0, events + 2)
    right = np.append(days[:-1], np.inf)
    found = interval_median(days, right)
    fit = KaplanMeierFitter().fit(days, np.isfinite(right))
    limits = median_survival_times(fit.confidence_interval_).to_numpy()[0]
    assert found.population_low == (limits[0] if known else None)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ([], []),
        ([1], [1, 2]),
        ([[1]], [[2]]),
        ([3], [2]),
        ([-1], [2]),
        ([np.inf], [np.inf]),
        ([np.nan], [2]),
    ],
)
def test_what_is_no_interval_is_refused(left, right):
    with pytest.raises(ValueError, match="left"):
        interval_median(left, right)


def cover(n, every, cv, laid_within, runs, lost=0.0, start_seen=True, seed=1):
    """How often the limits hold the population's median, and how wide they are on average."""
    rng = np.random.default_rng(seed)
    inside, widths = [], []
    for _ in range(runs):
        mean = 5 + every * rng.random()
        left, right, _, median = looked_at(rng, n, every, mean, cv, laid_within, lost, start_seen)
        found = interval_median(left, right)
        low = 0.0 if found.population_low is None else found.population_low
        high = np.inf if found.population_high is None else found.population_high
        inside.append(low <= median <= high)
        widths.append(high - low)
    return np.mean(inside), np.median(widths)


def test_limits_hold_the_median_of_eggs_laid_within_half_an_hour():
    inside, width = cover(24, 1.0, 0.1, HALF_HOUR, 120)

    assert inside > 0.93
    assert width < 2.2


@pytest.mark.slow
@pytest.mark.parametrize("n", [8, 24, 100])
@pytest.mark.parametrize("cv", [0.03, 0.1, 0.3])
@pytest.mark.parametrize(("laid_within", "every"), [(HALF_HOUR, 1.0), (3.0, 1.0), (6.0, 3.0)])
@pytest.mark.parametrize("lost", [0.0, 0.25])
def test_limits_hold_the_median(n, cv, laid_within, every, lost):
    assert cover(n, every, cv, laid_within, 300, lost=lost)[0] > 0.925
