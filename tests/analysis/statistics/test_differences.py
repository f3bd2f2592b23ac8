from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import f_oneway, ttest_ind

from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.differences import (
    Difference,
    NoTest,
    Verdict,
    holm,
    mean_difference,
    mean_test,
    resampled_medians,
    verdict,
)


def median_difference(a, b, **how):
    """The first less the second."""
    return resampled_medians([a, b], **how).difference(0, 1)


half_days = st.integers(1, 60).map(lambda n: n / 2)

# --- means on different grids --------------------------------------------------------------------


def plain(values):
    """The mean of values that were not rounded by checks."""
    mean = checked_mean(np.array(values, dtype=float), [])
    assert mean is not None
    return mean


def heat_by_daily_looks(rng, n, degrees, needed=42.8, sd=4.3):
    """Degree-days of a stage as daily looks find them: whole days times the degrees of a shelf."""
    start = rng.uniform(3, 6, n)
    end = start + rng.normal(needed, sd, n) / degrees
    high = np.array([np.ceil(start), np.ceil(end)])
    values = (high[1] - high[0]) * degrees
    return values, checked_mean(values, [np.column_stack((h - 1, h)) * degrees for h in high])


def called_different(test, place, cohorts, seed=1):
    """How often a test calls two shelves different that need the same heat (11 and 20 degrees)."""
    rng = np.random.default_rng(seed)
    ps = [
        test([heat_by_daily_looks(rng, 24, degrees)[place] for degrees in (11.1, 20.1)]).p
        for _ in range(cohorts)
    ]
    return np.mean([p is not None and p < 0.05 for p in ps])


def test_means_see_animals_where_ranks_would_see_grids():
    assert called_different(mean_test, 1, 100) < 0.12


@pytest.mark.slow
def test_means_of_daily_looks_keep_their_five_percent():
    """A little under it: the error that all checks of a cohort share is counted in."""
    assert 0.025 < called_different(mean_test, 1, 1000) < 0.055


def three_samples(seed):
    rng = np.random.default_rng(seed)
    return rng.normal(5, 1, 9), rng.normal(4, 3, 14), rng.normal(6, 2, 7)


def test_means_are_compared_as_a_reference_library_does():
    a, b, c = three_samples(3)
    two, three = mean_test([plain(a), plain(b)]), mean_test([plain(a), plain(b), plain(c)])
    welch, anova = ttest_ind(a, b, equal_var=False), f_oneway(a, b, c, equal_var=False)

    assert (two.test, two.n) == ("Welch", (9, 14))
    assert (two.statistic, two.p) == pytest.approx((welch.statistic, welch.pvalue))
    assert (three.test, three.n) == ("Welch ANOVA", (9, 14, 7))
    assert (three.statistic, three.p) == pytest.approx((anova.statistic, anova.pvalue))


def test_interval_of_a_difference_of_means_agrees_with_a_reference_library():
    a, b, _ = three_samples(3)
    found = mean_difference(plain(a), plain(b))
    reference = ttest_ind(a, b, equal_var=False).confidence_interval()
    assert (found.low, found.high) == pytest.approx((reference.low, reference.high))


def test_the_error_of_the_checks_makes_a_test_more_cautious():
    """Both cohorts passed between the same checks, three days apart: 1 day may be rounding."""
    in_step = np.tile([3.0, 6.0], (6, 1))
    near, far = (checked_mean(np.array([2, 2, 3, 3, 2, 3.0]) + more, [in_step]) for more in (0, 1))
    assert near is not None
    assert far is not None
    assert mean_test([near, far]).p > 0.3
    assert mean_test([plain([2, 2, 3, 3, 2, 3]), plain([3, 3, 4, 4, 3, 4])]).p < 0.02
    assert mean_difference(near, far).high > 0


@pytest.mark.parametrize(
    ("groups", "reason"),
    [([[1, 2], [1, 2, 3]], NoTest.TOO_FEW), ([[2, 2, 2], [1, 2, 3]], NoTest.GROUP_ALIKE)],
)
def test_means_that_cannot_be_tested_have_a_reason(groups, reason):
    found = mean_test([plain(group) for group in groups])
    assert found.reason is reason
    assert found.p is None


def test_welch_by_hand_and_with_three_groups_of_equal_means():
    """Reference: t = (x̄ − ȳ) / √(s²/n + s²/m) = 2 / √(1/3 + 4/3)."""
    found = mean_test([plain([4, 5, 6]), plain([1, 3, 5])])
    assert found.statistic == pytest.approx(2 / (5 / 3) ** 0.5)
    alike = mean_test([plain([1, 2, 3]), plain([0, 2, 4]), plain([2, 1, 3])])
    assert alike.p == pytest.approx(1)


def test_without_spread_there_is_no_interval_of_means():
    assert mean_difference(plain([2, 2, 2]), plain([1, 1, 1])).low is None


def test_one_group_is_no_comparison():
    with pytest.raises(ValueError, match="two groups"):
        mean_test([plain([1, 2, 3])])


def false_alarms(sizes, spreads, runs, seed):
    """How often cohorts of one mean but these spreads are called different, looked at each day:
    gamma durations, begun within some days of each other."""
    rng = np.random.default_rng(seed)
    found = 0
    for _ in range(runs):
        means: list[CheckedMean] = []
        for n, sd in zip(sizes, spreads, strict=True):
            begun = rng.uniform(10, 15, n)
            ended = begun + rng.gamma((6 / sd) ** 2, sd**2 / 6, n)
            ends = [
                np.column_stack((np.floor(each), np.floor(each) + 1)) for each in (begun, ended)
            ]
            values = ends[1].mean(axis=1) - ends[0].mean(axis=1)
            mean = checked_mean(values, ends)
            assert mean is not None
            means.append(mean)
        found += (mean_test(means).p or 0.0) < 0.05
    return found / runs


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sizes", "spreads"),
    [
        ((6, 6), (1, 1)),
        ((6, 18), (2, 0.7)),
        ((18, 6), (2, 0.7)),
        ((24, 24), (1, 1)),
        ((6, 12, 18), (2, 1, 0.5)),
        ((18, 12, 6), (2, 1, 0.5)),
        ((6, 6, 6), (1, 1, 1)),
    ],
)
def test_means_of_cohorts_that_spread_differently_are_told_apart_as_rarely_as_the_level_says(
    sizes, spreads
):
    """Where ranks call 13 % of 6 and 18 different that spread by 2 and 0.7 days."""
    assert 0.03 <= false_alarms(sizes, spreads, 1500, seed=3) <= 0.07


# --- Holm's correction ---------------------------------------------------------------------------


def test_holm_by_hand():
    """0.005·4, 0.01·3, 0.03·2 and 0.04·1, the last no smaller than the one before."""
    adjusted = holm([0.01, 0.04, None, 0.03, 0.005])

    assert adjusted[2] is None
    assert [p for p in adjusted if p is not None] == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([0.5, 0.6]) == (1.0, 1.0)
    assert holm([None, 0.02]) == (None, 0.02)
    assert holm([]) == ()


@given(st.lists(st.floats(0, 1), min_size=1, max_size=5))
def test_holm_is_the_closure_of_bonferroni(p_values):
    """A hypothesis falls if every set of hypotheses that holds it falls by Bonferroni's test.

    Reference: Marcus, Peritz & Gabriel 1976, Biometrika 63:655–660 (the closure principle).
    """
    m = len(p_values)
    for place, adjusted in enumerate(holm(p_values)):
        sets = (
            [p for p, member in zip(p_values, members, strict=True) if member]
            for members in product([True, False], repeat=m)
            if members[place]
        )
        assert adjusted == pytest.approx(max(min(1, len(some) * min(some)) for some in sets))


@pytest.mark.parametrize("order", list(permutations([0, 1, 2])))
def test_holm_keeps_each_p_at_its_place(order):
    p_values, adjusted = [0.01, 0.02, 0.5], [0.03, 0.04, 0.5]

    assert holm([p_values[place] for place in order]) == pytest.approx(
        [adjusted[place] for place in order]
    )


# --- the difference of medians -------------------------------------------------------------------


@pytest.mark.parametrize(("n", "m"), [(5, 6), (24, 21), (60, 200)])
def test_the_interval_agrees_with_the_bootstrap_of_a_library(n, m):
    """Reference: scipy.stats.bootstrap, percentile method, which draws whole samples."""
    from scipy.stats import bootstrap

    def difference(a, b, axis):
        return np.median(a, axis) - np.median(b, axis)

    rng = np.random.default_rng(n)
    a, b = rng.gamma(6, 2, n), rng.gamma(6, 2.5, m)
    library = bootstrap((a, b), difference, n_resamples=20_000, method="percentile", rng=1)
    ours = median_difference(a, b, resamples=20_000)

    assert ours.estimate == np.median(a) - np.median(b)
    spread = library.standard_error
    assert (ours.low, ours.high) == pytest.approx(
        tuple(library.confidence_interval), abs=0.08 * spread
    )


@pytest.mark.parametrize("n", [5, 6])
def test_the_middle_of_a_resample_has_its_exact_distribution(n):
    """Reference: all n^n samples with replacement of n values, each as likely as the other."""
    values = 2.0 ** np.arange(n)
    every = np.median(values[np.array(list(product(range(n), repeat=n)))], axis=1)
    exact = np.percentile(every, [2.5, 97.5])
    ours = median_difference(values, np.zeros(n), resamples=200_000)

    assert (ours.low, ours.high) == tuple(exact)


@given(
    st.lists(half_days, min_size=5, max_size=30),
    st.lists(half_days, min_size=5, max_size=30),
    st.integers(-20, 20),
)
def test_an_interval_is_repeatable_and_moves_with_its_group(a, b, shift):
    here, again = (median_difference(a, b, seed=3, resamples=500) for _ in range(2))
    moved = median_difference(np.array(a) + shift, b, seed=3, resamples=500)
    longer = median_difference(np.array(a) * 4, np.array(b) * 4, seed=3, resamples=500)

    assert here == again
    for end in ("low", "estimate", "high"):
        assert getattr(moved, end) == pytest.approx(getattr(here, end) + shift)
        assert getattr(longer, end) == pytest.approx(getattr(here, end) * 4)
    assert min(a) - max(b) <= here.low <= here.high <= max(a) - min(b)


def test_another_seed_draws_other_samples():
    a, b = np.random.default_rng(1).normal(10, 2, (2, 30))

    assert median_difference(a, b, seed=1) != median_difference(a, b, seed=2)


@pytest.mark.parametrize(("a", "b"), [([8, 9, 11, 10], [7, 7, 7, 7, 7]), ([10], [7])])
def test_few_values_have_a_difference_but_no_interval(a, b):
    difference = median_difference(a, b)

    assert difference.estimate == np.median(a) - 7
    assert difference.low is difference.high is None


@pytest.mark.parametrize(
    ("a", "b"), [([], [1.0]), ([1.0], [np.nan]), ([np.inf], [1.0]), ([[1.0]], [1.0])]
)
def test_what_has_no_median_is_refused(a, b):
    with pytest.raises(ValueError, match=r"median|finite"):
        median_difference(a, b)


@pytest.mark.slow
@pytest.mark.parametrize(("n", "rounded"), [(5, False), (12, False), (24, False), (24, True)])
def test_the_interval_covers_the_true_difference_at_least_as_often_as_it_says(n, rounded):
    """4,000 invented experiments a case; cautious, and more so when durations are whole days."""
    rng = np.random.default_rng(17)
    inside = 0
    for seed in range(4000):
        a, b = rng.normal([[14], [12]], 1.5, (2, n))
        if rounded:
            a, b = np.round(a), np.round(b)
        difference = median_difference(a, b, seed=seed, resamples=1000)
        assert difference.low is not None
        assert difference.high is not None
        inside += difference.low <= 2 <= difference.high

    assert inside / 4000 > 0.94


def test_no_p_value_just_at_the_level_is_called_a_difference():
    said = [verdict(p) for p in (0.0499, 0.05, None)]
    assert said == [Verdict.DIFFER, Verdict.NOT_SHOWN, Verdict.NOT_TESTED]


def test_a_difference_turned_round_has_its_limits_the_other_way():
    assert Difference(2.0, 0.5, 3.0).turned == Difference(-2.0, -3.0, -0.5)
    assert Difference(2.0, None, None).turned == Difference(-2.0, None, None)
