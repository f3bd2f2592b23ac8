from itertools import combinations, permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import f_oneway, mannwhitneyu, ttest_ind

from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.differences import (
    Difference,
    NoTest,
    Verdict,
    cohort_test,
    holm,
    location_test,
    mean_difference,
    mean_test,
    median_difference,
    verdict,
)

half_days = st.integers(1, 60).map(lambda n: n / 2)
groups = st.lists(st.lists(half_days, min_size=3, max_size=12), min_size=2, max_size=4)


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


def test_ranks_see_grids_where_means_see_animals():
    assert called_different(location_test, 0, 100) > 0.25
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


# --- which test ----------------------------------------------------------------------------------


def seen_daily(values, *, from_day, spread=6):
    """Whole days, of individuals that began on different days, and how they were looked for."""
    begin = from_day + np.arange(len(values)) % spread
    ends = [np.column_stack((day, day + 1.0)) for day in (begin, begin + values)]
    return np.array(values, dtype=float), checked_mean(np.array(values, dtype=float), ends)


DAILY = np.ones(20)


def chosen(*cohorts, widths=DAILY):
    return cohort_test([values for values, _ in cohorts], [mean for _, mean in cohorts], widths)


def test_on_one_grid_cohorts_are_compared_by_ranks():
    a, b = [3, 4, 5, 4, 3], [5, 6, 5, 7, 5]
    found = chosen(seen_daily(a, from_day=3.0), seen_daily(b, from_day=3.25))

    assert (found.test, found.p) == ("Mann–Whitney", pytest.approx(mannwhitneyu(a, b).pvalue))


def test_a_grid_may_begin_anywhere():
    a, b = np.array([3.3, 4.3, 5.3, 4.3]), np.array([5.3, 6.3, 7.3, 5.3])
    assert cohort_test([a, b], [plain(a), plain(b)], np.ones(16)).test == "Mann–Whitney"
    assert cohort_test([a, b], [plain(a), plain(b)], 2 * np.ones(16)).test == "Welch"


def test_off_the_grid_or_in_step_they_are_compared_by_means():
    one, other = seen_daily([3, 4, 5, 4, 3], from_day=3.0), seen_daily([5, 6, 5, 7, 5], from_day=3)
    shifted = other[0] + 0.04, other[1]
    in_step = seen_daily([5, 6, 5, 7, 5], from_day=3.0, spread=1)

    assert chosen(one, shifted).test == "Welch"
    assert chosen(one, in_step).test == "Welch"
    assert chosen(one, other, widths=np.append(DAILY, 3.0)).test == "Welch"


def test_events_that_were_seen_need_no_grid():
    a, b = np.array([3.1, 4.2, 5.3]), np.array([5.4, 6.5, 5.6])
    assert cohort_test([a, b], [plain(a), plain(b)], np.zeros(6)).test == "Mann–Whitney"


def test_rounding_errors_of_differences_do_not_part_ties():
    """0.1 + 0.2 is not 0.3 to a computer, but it is to an animal."""
    a, b = [0.3, 0.3, 0.5, 0.7], [0.1 + 0.2, 0.1 + 0.2, 0.5, 0.9]
    assert location_test([a, b]).p == location_test([a, [0.3, 0.3, 0.5, 0.9]]).p


# --- tests of location ---------------------------------------------------------------------------


def two_groups_with_u(n, u):
    """Two groups of n different values with u pairs in which the value of the first is larger."""
    for first in combinations(range(2 * n), n):
        if sum(first) - n * (n - 1) // 2 == u:
            return first, [value for value in range(2 * n) if value not in first]
    raise AssertionError(f"U = {u} does not exist for {n} and {n} values")


@pytest.mark.parametrize(("n", "critical"), [(4, 0), (5, 2), (6, 5), (7, 8), (8, 13)])
def test_mann_whitney_agrees_with_the_table_of_critical_values(n, critical):
    """Largest U of n and n values that is significant at 5 %, two-sided (common printed table)."""
    for u, significant in ((critical, True), (critical + 1, False)):
        test = location_test(two_groups_with_u(n, u))

        assert (test.test, test.statistic, test.n) == ("Mann–Whitney", u, (n, n))
        assert test.p is not None
        assert (test.p <= 0.05) == significant


def test_mann_whitney_is_exact_in_small_groups():
    """Reference: all 84 ways to divide the nine values, U counted pair by pair."""
    a, b = [9.5, 11.0, 12.5], [7.0, 8.5, 9.0, 10.0, 10.5, 13.0]

    def u_of(first):
        return sum(x > y for x in first for y in set(a + b) - set(first))

    counts = [min(u_of(first), 18 - u_of(first)) for first in combinations(a + b, 3)]
    test = location_test([a, b])

    assert test.statistic == u_of(a)
    assert test.p == pytest.approx(np.mean(np.array(counts) <= min(u_of(a), 18 - u_of(a))))


def test_kruskal_wallis_with_ties_by_hand():
    """Reference: H = (12/(N(N+1)) Σ R²/n − 3(N+1)) / (1 − Σ(t³−t)/(N³−N)), ranks set by hand."""
    test = location_test([[10, 10.5, 11], [10.5, 11.5, 12], [12.5, 13, 13.5]])
    rank_sums = np.array([1 + 2.5 + 4, 2.5 + 5 + 6, 7 + 8 + 9])
    h = (12 / 90 * np.sum(rank_sums**2 / 3) - 30) / (1 - (2**3 - 2) / (9**3 - 9))

    assert test.test == "Kruskal–Wallis"
    assert test.statistic == pytest.approx(h)
    assert test.p == pytest.approx(np.exp(-h / 2))  # the upper tail of χ² on 2 degrees of freedom


@settings(deadline=None)
@given(groups, st.floats(0.01, 100), st.randoms())
def test_a_test_depends_neither_on_order_nor_on_the_unit(values, unit, random):
    test = location_test(values)
    turned = [np.array(random.sample(group, len(group))) * unit for group in values]
    random.shuffle(turned)
    other = location_test(turned)

    assert (test.p is None) == (other.p is None) == (test.reason is not None)
    if test.p is not None:
        assert 0 <= test.p <= 1
        assert other.p == pytest.approx(test.p)


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ([[1, 2], [3, 4, 5]], NoTest.TOO_FEW),
        ([[1, 2, 3], [], [3, 4, 5]], NoTest.TOO_FEW),
        ([[4, 4], [4, 4, 4]], NoTest.TOO_FEW),
        ([[4, 4, 4], [4, 4, 4, 4]], NoTest.ALL_ALIKE),
        ([[4, 4, 4], [4, 4, 4], [4, 4, 4]], NoTest.ALL_ALIKE),
    ],
)
def test_where_no_test_can_be_made_there_is_a_reason_and_no_p(values, reason):
    test = location_test(values)

    assert (test.statistic, test.p) == (None, None)
    assert test.reason is reason
    assert test.n == tuple(len(group) for group in values)


@pytest.mark.parametrize("values", [[], [[1, 2, 3]], [[1, 2, np.nan], [1, 2, 3]], [[[1]], [[2]]]])
def test_what_is_no_set_of_groups_is_refused(values):
    with pytest.raises(ValueError, match=r"two groups|finite"):
        location_test(values)


@pytest.mark.slow
@pytest.mark.parametrize("sizes", [(12, 24), (4, 4), (12, 24, 24), (5, 5, 5)])
def test_alike_groups_are_told_apart_as_rarely_as_the_level_says(sizes):
    """Size at 5 % over 4,000 invented experiments, with durations rounded to the half day.

    Never above the level (plus the error of the count); small groups may be more cautious.
    """
    rng = np.random.default_rng(21)
    found = 0
    for _ in range(4000):
        test = location_test([np.round(rng.normal(12, 1.5, n) * 2) / 2 for n in sizes])
        assert test.p is not None
        found += test.p < 0.05

    assert (0.04 if min(sizes) >= 12 else 0.01) < found / 4000 < 0.06


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


@pytest.mark.parametrize(("a", "b"), [([], [1.0]), ([1.0], [np.nan]), ([[1.0]], [1.0])])
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
