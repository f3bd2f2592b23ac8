"""The mean over cohorts against a reference library, closed forms, and invented cohorts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats
from statsmodels.stats.meta_analysis import combine_effects

from rearlog.analysis.pooling.random_effects import (
    MOST_LEFT_OUT,
    Estimator,
    deleted_p,
    random_effects,
    site_effects,
)

VACCINE_TRIALS = (
    (4, 119, 11, 128),
    (6, 300, 29, 274),
    (3, 228, 11, 209),
    (62, 13536, 248, 12619),
    (33, 5036, 47, 5761),
    (180, 1361, 372, 1079),
    (8, 2537, 10, 619),
    (505, 87886, 499, 87892),
    (29, 7470, 45, 7232),
    (17, 1699, 65, 1600),
    (186, 50448, 141, 27197),
    (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
)
"""Thirteen trials of a vaccine against tuberculosis, with which meta-analysis is taught (Colditz et
al. 1994; from memory): ill and well of the vaccinated, ill and well of the others."""
SEED = 20261126


def invented(rng: np.random.Generator, k: int) -> tuple[np.ndarray, np.ndarray]:
    errors = rng.uniform(0.2, 1.5, k)
    return rng.normal(20.0, 1.0, k) + rng.normal(0.0, errors), errors


@pytest.mark.parametrize("k", [2, 3, 7, 60])
def test_as_the_reference_library(k: int) -> None:
    values, errors = invented(np.random.default_rng(SEED + k), k)
    for estimator, name in (
        (Estimator.PAULE_MANDEL, "iterated"),
        (Estimator.DERSIMONIAN_LAIRD, "dl"),
    ):
        found = random_effects(values, errors, estimator)
        theirs = combine_effects(values, errors**2, method_re=name, use_t=True)
        assert found.tau is not None
        assert found.low is not None
        assert found.high is not None
        assert found.tau**2 == pytest.approx(max(0.0, theirs.tau2), abs=1e-5)
        if theirs.tau2 < 0:  # theirs does not stop at 0
            assert (k, found.tau) == (2, 0.0)
            continue
        assert found.mean == pytest.approx(theirs.mean_effect_re, rel=1e-5)
        by_scatter, by_variances = theirs.sd_eff_w_re_hksj, theirs.sd_eff_w_re
        assert found.se == pytest.approx(max(by_scatter, by_variances), rel=1e-5)
        if by_scatter > by_variances:  # Hartung and Knapp as theirs
            assert (found.low, found.high) == pytest.approx(theirs.conf_int()[3], rel=1e-5)
        assert found.q == pytest.approx(theirs.q)
        if estimator is Estimator.DERSIMONIAN_LAIRD:
            assert found.i2 == pytest.approx(max(0.0, theirs.i2))


def test_the_trials_that_meta_analysis_is_taught_with() -> None:
    """Of the logarithm of the risk ratio: τ² 0.3181 by Paule and Mandel's rule, 0.3088 and I²
    92.12 % by DerSimonian and Laird's; Q 152.233 on 12; τ² between 0.1197 and 1.1115 (published
    tables, from memory)."""
    ill, well, others_ill, others_well = np.array(VACCINE_TRIALS, dtype=float).T
    vaccinated, others = ill + well, others_ill + others_well
    ratios = np.log(ill / vaccinated / (others_ill / others))
    errors = np.sqrt(1 / ill - 1 / vaccinated + 1 / others_ill - 1 / others)
    found = random_effects(ratios, errors)
    assert found.tau is not None
    assert found.tau_low is not None
    assert found.tau_high is not None
    assert found.tau**2 == pytest.approx(0.3181, abs=1e-4)
    assert found.tau_low**2 == pytest.approx(0.1197, abs=1e-4)
    assert found.tau_high**2 == pytest.approx(1.1115, abs=1e-4)
    assert found.q == pytest.approx(152.233, abs=1e-3)
    other = random_effects(ratios, errors, Estimator.DERSIMONIAN_LAIRD)
    assert other.tau is not None
    assert other.tau**2 == pytest.approx(0.3088, abs=1e-4)
    assert other.i2 == pytest.approx(0.9212, abs=1e-4)
    assert other.mean == pytest.approx(-0.7141, abs=1e-4)


def test_limits_of_the_spread_are_where_the_squares_meet_their_quantiles() -> None:
    values, errors = invented(np.random.default_rng(SEED), 12)
    found = random_effects(values, errors)

    def excess(tau2: float, part: float) -> float:
        weights = 1 / (errors**2 + tau2)
        mean = np.sum(weights * values) / np.sum(weights)
        return float(np.sum(weights * (values - mean) ** 2) - stats.chi2.ppf(part, 11))

    assert found.tau_high is not None
    assert found.tau_low is not None
    assert found.tau_high**2 == pytest.approx(optimize.brentq(excess, 0, 100, (0.025,)), rel=1e-6)
    low = 0.0 if excess(0.0, 0.975) < 0 else optimize.brentq(excess, 0, 100, (0.975,))
    assert found.tau_low**2 == pytest.approx(low, rel=1e-6)


def test_another_cohort_with_equal_errors_by_hand() -> None:
    """Values 6, 8, 10, 12, 14 with errors of 1: the squares about 10 are 40, over τ² + 1 they are 4
    where τ² = 9; SE² = 40/4/5 = 2; t on 4 degrees of freedom is 2.7764, on 3 it is 3.1824."""
    found = random_effects([6.0, 8.0, 10.0, 12.0, 14.0], [1.0] * 5)
    assert (found.k, found.mean) == (5, pytest.approx(10.0))
    assert found.tau == pytest.approx(3.0)
    assert found.se == pytest.approx(2**0.5)
    assert found.low == pytest.approx(10 - 2.776445 * 2**0.5, rel=1e-6)
    assert found.high == pytest.approx(10 + 2.776445 * 2**0.5, rel=1e-6)
    assert found.predicted_low == pytest.approx(10 - 3.182446 * 11**0.5, abs=1e-5)
    assert found.predicted_high == pytest.approx(10 + 3.182446 * 11**0.5, rel=1e-6)
    assert found.i2 == pytest.approx(0.9)
    assert found.q == pytest.approx(40.0)
    assert found.p == pytest.approx(21 * np.exp(-20.0))  # χ² on 4: (1 + x/2)·exp(−x/2)


def test_one_that_is_known_for_sure_outweighs_all() -> None:
    found = random_effects([6.0, 8.0, 10.0], [1.0, 1e-14, 1.0])
    assert found.mean == pytest.approx(8.0)
    assert found.i2 is not None
    assert 0 <= found.i2 <= 1
    # v of 1, V and 1: (k − 1)·V/(2·V + 2·V + 2) is 1/2 where V is large
    assert found.tau is not None
    assert found.i2 == pytest.approx(found.tau**2 / (found.tau**2 + 0.5))


def test_four_say_nothing_of_where_another_lies() -> None:
    four = random_effects([6.0, 8.0, 10.0, 12.0], [1.0] * 4)
    assert four.predicted_low is None
    assert four.predicted_high is None
    assert four.low is not None
    sites = site_effects([6.0, 8.0, 10.0, 12.0, 14.0], [1.0] * 5, [*"aabcd"])
    assert sites is not None
    assert sites.predicted_low is None
    assert sites.predicted_high is None


def test_few_values() -> None:
    alone = random_effects([20.0], [0.5])
    assert (alone.k, alone.mean, alone.se) == (1, 20.0, 0.5)
    assert {alone.low, alone.high, alone.tau, alone.i2, alone.predicted_low} == {None}
    two = random_effects([20.0, 20.0], [0.5, 0.5])
    assert two.tau == 0.0
    assert two.predicted_low is None
    assert two.low == pytest.approx(20.0 - 12.7062 * (1 / 8) ** 0.5)


@pytest.mark.parametrize(
    ("values", "errors"),
    [
        ([], []),
        ([1.0], [0.0]),
        ([1.0], [1.0, 2.0]),
        ([np.nan], [1.0]),
        ([1.0], [np.inf]),
        ([1.0], [-1.0]),
        ([[1.0]], [[1.0]]),
    ],
)
def test_what_are_no_estimates_is_refused(values: list[float], errors: list[float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        random_effects(values, errors)


@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(0.1, 5)), min_size=3, max_size=12),
    st.floats(0.01, 100),
    st.floats(-100, 100),
)
def test_another_unit_and_another_zero_change_nothing_else(
    pairs: list[tuple[float, float]], unit: float, zero: float
) -> None:
    values, errors = np.array(pairs).T
    found, other = (
        random_effects(values, errors),
        random_effects(unit * values + zero, unit * errors),
    )
    assert other.mean == pytest.approx(unit * found.mean + zero, rel=1e-6, abs=1e-4 * unit)
    assert other.tau == pytest.approx(unit * (found.tau or 0.0), rel=1e-4, abs=1e-4 * unit)
    assert other.i2 == pytest.approx(found.i2, abs=1e-4)


@pytest.mark.parametrize(("k", "least"), [(12, 0.87), (40, 0.9)])
def test_limits_hold_what_they_say(k: int, least: float) -> None:
    """Cohorts that differ as much as they are unsure: of many seasons the limits of the mean and
    of the spread hold the truth about 95 times in 100. Those of another cohort hold its value so
    often where there are many cohorts, and of twelve nine times in ten."""
    rng = np.random.default_rng(SEED)
    held = predicted = spread = 0
    runs = 600
    for _ in range(runs):
        values, errors = invented(rng, k)
        found = random_effects(values, errors)
        assert found.low is not None
        assert found.high is not None
        assert found.predicted_low is not None
        assert found.predicted_high is not None
        assert found.tau_low is not None
        assert found.tau_high is not None
        held += found.low <= 20.0 <= found.high
        predicted += found.predicted_low <= rng.normal(20.0, 1.0) <= found.predicted_high
        spread += found.tau_low <= 1.0 <= found.tau_high
    assert 0.93 < held / runs < 0.975
    assert least < predicted / runs < 0.98
    assert 0.93 < spread / runs < 0.975


def test_balanced_sites_are_an_analysis_of_variance() -> None:
    """With as many cohorts at each site, known alike, the estimates are those of nested mean
    squares: σ² = MSW − s², τ² = (MSB − MSW)/m, and the error of the mean is √(MSB/(a·m))."""
    rng = np.random.default_rng(SEED)
    a, m, s = 6, 5, 0.4
    table = 20 + rng.normal(0, 2, (a, 1)) + rng.normal(0, 1, (a, m))
    found = site_effects(table.T.ravel(), np.full(a * m, s), [*"abcdef" * m])
    assert found is not None
    within = ((table - table.mean(axis=1, keepdims=True)) ** 2).sum() / (a * (m - 1))
    between = m * table.mean(axis=1).var(ddof=1)
    assert found.tau_cohorts**2 == pytest.approx(within - s**2)
    assert found.tau_sites**2 == pytest.approx((between - within) / m)
    assert found.mean == pytest.approx(table.mean())
    assert found.se == pytest.approx((between / (a * m)) ** 0.5)
    margin = stats.t.ppf(0.975, a - 1) * found.se
    assert (found.low, found.high) == pytest.approx((table.mean() - margin, table.mean() + margin))
    reach = (
        stats.t.ppf(0.975, a - 2) * ((between - within) / m + within - s**2 + found.se**2) ** 0.5
    )
    assert found.predicted_high == pytest.approx(found.mean + reach)
    assert found.predicted_low == pytest.approx(found.mean - reach)
    assert [(each.site, each.k) for each in found.sites] == [(site, m) for site in "abcdef"]
    assert [each.mean for each in found.sites] == pytest.approx(table.mean(axis=1))
    assert found.sites[0].se == pytest.approx((within / m) ** 0.5)


def test_sites_that_chose_the_same_temperatures_are_no_surer_for_it() -> None:
    """Their means hardly scatter, and yet each rests on five cohorts that differ by 13 days: the
    error of the mean of all is √((σ² + s²)/(a·m)), not that of ten means that agree by design."""
    rng = np.random.default_rng(SEED)
    a, s = 10, 0.5
    chosen = np.array([36.0, 32.0, 28.0, 25.0, 23.0])
    table = chosen + rng.normal(0, 0.2, (a, chosen.size))
    found = site_effects(table.T.ravel(), np.full(table.size, s), [*"abcdefghij" * chosen.size])
    assert found is not None
    within = ((table - table.mean(axis=1, keepdims=True)) ** 2).sum() / (a * (chosen.size - 1))
    assert found.tau_sites == 0.0
    assert found.se == pytest.approx((within / table.size) ** 0.5)
    assert found.low < table.mean() - 1.5
    assert (table.mean(axis=1).std(ddof=1) / a**0.5) < 0.1 * found.se, "what the scatter says"


def test_values_that_agree_better_than_their_errors_are_known_no_better() -> None:
    found = random_effects([20.0, 20.1, 19.9], [1.0, 2.0, 1.0])
    assert found.tau == 0.0
    assert found.se == pytest.approx((1 / 2.25) ** 0.5)


def test_sites_need_to_be_three_and_one_of_them_of_two_cohorts() -> None:
    errors = [0.5] * 4
    assert site_effects([1.0, 2.0, 3.0, 4.0], errors, [*"aabb"]) is None
    assert site_effects([1.0, 2.0, 3.0, 4.0], errors, [*"abcd"]) is None
    assert site_effects([1.0, 2.0, 3.0, 4.0], errors, [*"aabc"]) is not None


def test_limits_over_sites_hold_where_those_over_cohorts_do_not() -> None:
    """Eight sites of unequal numbers of cohorts; sites differ twice as much as cohorts of one."""
    rng = np.random.default_rng(SEED)
    of_site = np.repeat(np.arange(8), [2, 3, 9, 2, 4, 3, 2, 6])
    held = naive = 0
    runs, spreads = 600, []
    for _ in range(runs):
        errors = rng.uniform(0.2, 0.6, of_site.size)
        values = 20 + rng.normal(0, 2, 8)[of_site] + rng.normal(0, 1, of_site.size)
        values += rng.normal(0, errors)
        found = site_effects(values, errors, ["abcdefgh"[each] for each in of_site])
        flat = random_effects(values, errors)
        assert found is not None
        assert flat.low is not None
        assert flat.high is not None
        held += found.low <= 20 <= found.high
        naive += flat.low <= 20 <= flat.high
        spreads.append((found.tau_sites**2, found.tau_cohorts**2))
    assert 0.92 < held / runs < 0.97
    assert naive / runs < 0.85
    assert np.mean(spreads, axis=0) == pytest.approx([4.0, 1.0], rel=0.1)


def test_left_out_by_a_plain_loop() -> None:
    values, errors = invented(np.random.default_rng(SEED), 9)
    found = deleted_p(values, errors)
    for place in range(9):
        others = random_effects(np.delete(values, place), np.delete(errors, place))
        assert others.tau is not None
        spread = (errors[place] ** 2 + others.tau**2 + others.se**2) ** 0.5
        t = (values[place] - others.mean) / spread
        assert found[place] == pytest.approx(2 * stats.t.sf(abs(t), 6), rel=1e-6)


def test_the_temperature_takes_a_warm_cohort_back_in() -> None:
    rng = np.random.default_rng(SEED)
    celsius = np.append(rng.uniform(19.5, 20.5, 19), 28.0)
    rates = 0.004 * (celsius - 10) + rng.normal(0, 0.0008, 20)
    errors = np.full(20, 0.0005)
    assert deleted_p(rates, errors)[-1] < 1e-6
    assert deleted_p(rates + 0.02 * (celsius > 25), errors, celsius)[-1] < 0.05
    celsius[:5] = np.linspace(22, 27, 5)
    rates = 0.004 * (celsius - 10) + rng.normal(0, 0.0008, 20)
    assert deleted_p(rates, errors, celsius)[-1] > 0.05


def test_one_that_stands_alone_is_found_and_few_are_by_chance() -> None:
    """Of thirty alike, none in about 95 of 100 seasons is below the corrected level."""
    rng = np.random.default_rng(SEED)
    alarms = 0
    for _ in range(120):
        values, errors = invented(rng, 30)
        alarms += bool(deleted_p(values, errors).min() < 0.05 / 30)
    assert alarms / 120 < 0.1
    values[4] = 30.0
    found = deleted_p(values, errors)
    assert found.argmin() == 4
    assert found[4] < 1e-4


def test_too_few_to_be_left_out() -> None:
    assert np.isnan(deleted_p([1.0, 2.0, 3.0], [1.0] * 3)).all()
    assert not np.isnan(deleted_p([1.0, 2.0, 4.0, 3.0], [1.0] * 4)).any()
    assert np.isnan(deleted_p([1.0, 2.0, 4.0, 3.0], [1.0] * 4, [20.0, 21.0, 22.0, 23.0])).all()
    assert np.isnan(deleted_p([1.0, 2.0, 4.0, 3.0, 5.0], [1.0] * 5, [20.0] * 5)).all()


def test_of_many_the_nearer_ones_are_judged_with_all() -> None:
    values, errors = invented(np.random.default_rng(SEED), MOST_LEFT_OUT + 60)
    found = deleted_p(values, errors)
    together = random_effects(values, errors)
    assert together.tau is not None
    spread = np.sqrt(errors**2 + together.tau**2 + together.se**2)
    plain = 2 * stats.t.sf(np.abs(values - together.mean) / spread, values.size - 3)
    nearest, farthest = int(plain.argmax()), int(plain.argmin())
    assert found[nearest] == pytest.approx(plain[nearest])
    assert found[farthest] < plain[farthest]
