"""The laws of the rate: whether they are found again, chosen rightly, and how sure they are."""

import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import differential_evolution

from rearlog.analysis.comparing.rate_curves import (
    LAW,
    LAWS,
    RateCurve,
    RateLaw,
    _beyond,
    _crossing,
    _ends,
    _limits,
    _set_by_range,
    _starts,
    _with_limits,
    landmarks,
    rate_curves,
    why_no_bend,
)
from rearlog.analysis.comparing.rate_models import LinearRate, NoRate, linear_rate
from rearlog.analysis.statistics.many_fits import many_fits

CELSIUS = np.array([12.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0, 32.0, 34.0])
TRUE = {
    RateLaw.LINE: (0.01, 8.0),
    RateLaw.BRIERE_1: (6e-5, 8.0, 36.5),
    RateLaw.BRIERE_2: (6e-5, 8.0, 36.5, 3.0),
    RateLaw.LACTIN_2: (0.01, 38.0, 1.2, -1.09),
    RateLaw.LOGAN_6: (0.02, 0.12, 38.0, 4.0),
    RateLaw.RATKOWSKY: (4e-4, 3.0, 38.0, 0.3),
    RateLaw.BETA: (5e-4, 7.0, 37.0, 1.7),
}
"""Invented; each with its optimum between the points."""


def by_hand(law, t):
    """The laws as their authors print them (from memory), at the parameters of TRUE."""
    p = TRUE[law]
    return {
        RateLaw.LINE: lambda: p[0] * (t - p[1]),
        RateLaw.BRIERE_1: lambda: p[0] * t * (t - p[1]) * np.sqrt(p[2] - t),
        RateLaw.BRIERE_2: lambda: p[0] * t * (t - p[1]) * (p[2] - t) ** (1 / p[3]),
        RateLaw.LACTIN_2: lambda: np.exp(p[0] * t) - np.exp(p[0] * p[1] - (p[1] - t) / p[2]) + p[3],
        RateLaw.LOGAN_6: lambda: (
            p[0] * (np.exp(p[1] * t) - np.exp(p[1] * p[2] - (p[2] - t) / p[3]))
        ),
        RateLaw.RATKOWSKY: lambda: (
            (p[0] ** 0.5 * (t - p[1]) * (1 - np.exp(p[3] * (t - p[2])))) ** 2
        ),
        RateLaw.BETA: lambda: np.exp(np.log(p[0]) + p[3] * np.log(t - p[1]) + np.log(p[2] - t)),
    }[law]()


@pytest.mark.parametrize("law", TRUE)
def test_a_law_that_made_the_rates_is_found_again_and_chosen(law):
    curves = rate_curves(CELSIUS, by_hand(law, CELSIUS))
    best = curves[0]
    assert best.law is law
    np.testing.assert_allclose(best.parameters, TRUE[law], rtol=2e-3)
    np.testing.assert_allclose(best.rate(CELSIUS), by_hand(law, CELSIUS), rtol=1e-4)
    assert best.delta == 0
    assert sum(each.weight for each in curves) == pytest.approx(1)


@pytest.mark.parametrize("law", [each for each in LAWS if each.name is not RateLaw.LINE])
def test_the_optimum_is_where_the_slope_is_0_and_the_thresholds_where_the_rate_is(law):
    """Reference: central differences, and the sign on either side."""
    at = np.array(TRUE[law.name])
    lower, optimum, upper = (float(each[0]) for each in landmarks(law, at[None]))
    step = 0.2
    slopes = [
        float(np.diff(law.raw(np.array([t - 1e-4, t + 1e-4]), at))[0])
        for t in (optimum - step, optimum + step)
    ]
    assert slopes[0] > 0 > slopes[1]
    fine = np.linspace(optimum - 1, optimum + 1, 20_001)
    assert optimum == pytest.approx(fine[np.argmax(law.raw(fine, at))], abs=0.01)
    for threshold in (lower, upper):
        if np.isfinite(threshold):
            assert abs(float(law.rate([threshold], at)[0])) < 1e-3 * law.rate([optimum], at)[0]
    assert law.rate([upper - 0.3], at)[0] > 0
    assert law.rate([upper + 0.3], at)[0] == 0
    assert np.isnan(lower) == (law.name is RateLaw.LOGAN_6)


@pytest.mark.parametrize(
    "law", [RateLaw.BRIERE_1, RateLaw.BRIERE_2, RateLaw.LACTIN_2, RateLaw.BETA]
)
def test_no_other_parameters_fit_better(law):
    """Reference: scipy's differential evolution, a global search that needs no start values."""
    rng = np.random.default_rng(3)
    rates = by_hand(law, CELSIUS) * np.exp(rng.normal(0, 0.02, CELSIUS.size))
    se = rates * np.linspace(0.01, 0.03, CELSIUS.size)
    found = next(each for each in rate_curves(CELSIUS, rates, se) if each.law is law)

    def off(parameters):
        return float(np.sum(((LAW[law].raw(CELSIUS, np.array(parameters)) - rates) / se) ** 2))

    around = []
    for name, true in zip(LAW[law].parameters, TRUE[law], strict=True):
        low, high = sorted((0.5 * true, 1.5 * true))
        limits = {"upper": (34.05, 60.0), "lower": (low, min(high, 11.95))}
        around.append(limits.get(name, (low, high)))
    best = differential_evolution(off, around, rng=1, tol=1e-10, maxiter=400, popsize=12)
    assert off(found.parameters) <= best.fun * (1 + 1e-5)


def test_aicc_is_that_of_a_line_by_hand():
    """Reference: the log-likelihood of statsmodels OLS and the correction of Burnham & Anderson."""
    import statsmodels.api as sm

    rng = np.random.default_rng(1)
    rates = 0.01 * (CELSIUS - 8) + rng.normal(0, 0.004, CELSIUS.size)
    line = next(each for each in rate_curves(CELSIUS, rates) if each.law is RateLaw.LINE)
    fit = sm.OLS(rates, sm.add_constant(CELSIUS)).fit()
    n, k = CELSIUS.size, 3
    constant = n * (np.log(2 * np.pi) + 1)  # the same for every law
    by_likelihood = -2 * fit.llf + 2 * k + 2 * k * (k + 1) / (n - k - 1) - constant
    assert line.aicc == pytest.approx(by_likelihood)
    assert line.threshold == pytest.approx(-fit.params[0] / fit.params[1])


def test_an_optimum_that_no_cohort_has_passed_is_not_given():
    cool = CELSIUS[:7]  # the optimum of this curve is at 30.1 °C
    unpassed = rate_curves(cool, by_hand(RateLaw.BRIERE_1, cool))[0]
    assert unpassed.law is RateLaw.BRIERE_1
    assert unpassed.threshold == pytest.approx(8, abs=0.01)
    assert unpassed.optimum is unpassed.upper is None
    assert unpassed.optimum_limits is unpassed.upper_limits is None
    best = rate_curves(CELSIUS, by_hand(RateLaw.BRIERE_1, CELSIUS))[0]
    assert best.optimum == pytest.approx(30.12, abs=0.01)
    assert best.upper == pytest.approx(36.5, abs=0.01)


def test_few_cohorts_are_asked_for_few_parameters():
    for n, most in ((4, 0), (5, 2), (6, 3), (7, 4)):
        celsius = np.linspace(13, 34, n)
        found = rate_curves(celsius, by_hand(RateLaw.BRIERE_1, celsius))
        assert max((len(each.parameters) for each in found), default=0) == most
    twice = np.array([13.0, 20.0, 20.1, 27.0, 27.1, 34.0])  # four temperatures
    assert rate_curves(twice, by_hand(RateLaw.BRIERE_1, twice)) == ()


@pytest.mark.parametrize(
    ("celsius", "days", "reason"),
    [
        ([15, 18, 21, 25, 30], [40, 28, 20, 14, 12], NoRate.FEW_FOR_CURVE),
        ([15, 18, 21, 25, 30, 30.1], [40, 28, 20, 14, 12, 12], NoRate.FEW_FOR_CURVE),
        ([0, 10, 15, 20, 25, 30], [90, 40, 30, 20, 14, 12], NoRate.BEYOND_CURVE),
        ([15, 18, 20, 25, 30, 60], [40, 30, 20, 14, 12, 12], NoRate.BEYOND_CURVE),
        ([12, 15, 16, 20, 24, 28], [125, 45, 31.25, 15, 8.93, 5.95], NoRate.NOT_SETTLED),
        ([16, 20, 22, 24, 28, 32], [0.1] * 6, NoRate.EQUALLY_LONG),
    ],
)
def test_points_that_show_no_bend_say_why(celsius, days, reason):
    rates = 1 / np.array(days)
    curves = rate_curves(celsius, rates)
    assert {each.law for each in curves} <= {RateLaw.LINE}
    assert why_no_bend(celsius, rates, curves) is reason


def test_where_a_law_bends_there_is_no_reason_why_none_does():
    rates = by_hand(RateLaw.BRIERE_1, CELSIUS)
    assert why_no_bend(CELSIUS, rates, rate_curves(CELSIUS, rates)) is None


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0.2, 59), st.floats(0.01, 5000)),
        min_size=5,
        max_size=8,
        unique_by=lambda point: round(point[0], 1),
    )
)
def test_whatever_the_points_there_are_finite_curves_or_a_reason(points):
    celsius, days = np.array(points).T
    curves = rate_curves(celsius, 1 / days)
    bent = [each for each in curves if each.law is not RateLaw.LINE]
    assert (why_no_bend(celsius, 1 / days, curves) is None) == bool(bent)
    for each in curves:
        assert np.isfinite([*each.parameters, each.aicc, each.weight]).all()
        if each.optimum is not None:
            assert each.optimum < celsius.max()


def test_the_same_points_give_the_same_limits_whatever_the_order():
    rates = by_hand(RateLaw.BRIERE_1, CELSIUS) * (
        1 + 0.02 * np.array([1, -1, 1, -1, 0, 1, -1, 1, 0])
    )
    one, other = rate_curves(CELSIUS, rates, rates / 50), rate_curves(CELSIUS, rates, rates / 50)
    assert one == other
    turned = rate_curves(CELSIUS[::-1], rates[::-1], rates[::-1] / 50)
    assert turned[0].law is one[0].law
    np.testing.assert_allclose(turned[0].parameters, one[0].parameters, rtol=1e-4)


def test_many_fits_are_the_same_as_one_by_one():
    """Reference: scipy's curve_fit of each data set by itself."""
    from scipy.optimize import curve_fit

    law = LAW[RateLaw.BRIERE_1]
    rng = np.random.default_rng(2)
    y = by_hand(law.name, CELSIUS) * np.exp(rng.normal(0, 0.03, (12, CELSIUS.size)))
    weights = np.linspace(0.5, 2, CELSIUS.size)
    start = np.tile([5e-5, 6.0, 38.0], (12, 1))
    low, high = np.array([0.0, 0.0, 34.05]), np.array([np.inf, 11.95, 60.0])
    at, square = many_fits(lambda p: law.raw(CELSIUS, p), y, weights, start, low, high)
    for row, data in enumerate(y):
        alone, _ = curve_fit(
            lambda t, *p: law.raw(t, np.array(p)),
            CELSIUS,
            data,
            start[row],
            sigma=weights**-0.5,
            bounds=(low, high),
            x_scale=[1e-5, 1, 1],
            ftol=1e-12,
        )
        np.testing.assert_allclose(at[row], alone, rtol=1e-3)
        assert square[row] == pytest.approx(
            np.sum(weights * (data - law.raw(CELSIUS, alone)) ** 2), rel=1e-5
        )


@pytest.mark.slow
def test_limits_hold_the_truth_as_often_as_they_say():
    """Mean rates drawn here about Brière's first curve with errors of 2 % that are known."""
    truth = by_hand(RateLaw.BRIERE_1, CELSIUS)
    runs = int(os.environ.get("REARLOG_CURVES", "16"))
    inside, chosen = [], 0
    for seed in range(runs):
        drawn = truth + np.random.default_rng(seed).normal(0, 0.02 * truth)
        best = rate_curves(CELSIUS, drawn, 0.02 * truth)[0]
        if best.law is not RateLaw.BRIERE_1:
            continue
        chosen += 1
        pairs = (
            (best.threshold_limits, 8.0),
            (best.optimum_limits, 30.122),
            (best.upper_limits, 36.5),
        )
        inside.append([each is not None and each.low <= true <= each.high for each, true in pairs])
    held = np.mean(inside, axis=0)
    print(f"right law {chosen} of {runs}; T0, optimum, upper held {np.round(held, 3)}")
    assert chosen > 0.6 * runs
    assert (held > 0.85).all()


def test_heights_cross_0_on_the_line_between_the_two_beside_it():
    assert _crossing(np.array([9.0, 3.0, -1.0, -9.0]), np.arange(10.0, 14.0)) == pytest.approx(
        11.75
    )
    assert np.isnan(_crossing(np.array([9.0, 3.0, 1.0]), np.arange(10.0, 13.0)))
    assert np.isnan(_crossing(np.array([0.0, 3.0, -1.0]), np.arange(10.0, 13.0)))


def test_a_law_on_which_all_points_lie_has_an_aicc_that_ends_at_a_billionth():
    """By hand: a residual no less than 1e-9 of the mean rate, of a line with k = 3."""
    rates = by_hand(RateLaw.LINE, CELSIUS)
    line = next(each for each in rate_curves(CELSIUS, rates) if each.law is RateLaw.LINE)
    n, k = CELSIUS.size, 3
    least = (1e-9 * rates.mean()) ** 2
    assert line.aicc == pytest.approx(n * np.log(least) + 2 * k + 2 * k * (k + 1) / (n - k - 1))


def test_no_law_has_its_lower_threshold_among_the_points():
    """The line through these crosses 0 near 16 °C, above the coldest of them."""
    celsius = np.array([14.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0])
    rates = np.maximum(0.02 * (celsius - 16), 1e-4)
    slope, intercept = np.polyfit(celsius, rates, 1)
    assert -intercept / slope > 14
    assert RateLaw.LINE not in {each.law for each in rate_curves(celsius, rates)}


@pytest.mark.parametrize("law", [each for each in LAWS if each.scaled])
def test_searches_begin_with_the_factor_of_least_squares(law):
    """What is left is at right angles to the curve, weighted."""
    rates = by_hand(law.name, CELSIUS)
    weights = np.linspace(0.5, 2, CELSIUS.size)
    for start in _starts(law, CELSIUS, rates, weights):
        curve = law.raw(CELSIUS, start)
        assert (weights * (rates - curve)) @ curve == pytest.approx(0, abs=1e-9 * rates @ rates)


def test_limits_lie_about_what_they_are_of_and_shrink_with_the_errors():
    truth = by_hand(RateLaw.BRIERE_1, CELSIUS)
    off = truth * (1 + 0.005 * np.array([1, -1, 1, -1, 0, 1, -1, 1, 0]))
    sure, unsure = (rate_curves(CELSIUS, off, part * truth)[0] for part in (0.01, 0.03))
    for name in ("threshold", "optimum", "upper"):
        near, far = (getattr(each, f"{name}_limits") for each in (sure, unsure))
        assert near.low < getattr(sure, name) < near.high
        assert far.low < getattr(unsure, name) < far.high
        assert (far.high - far.low) / (near.high - near.low) == pytest.approx(3, rel=0.25)


AT = {"a": 6e-5, "lower": 8.0, "upper": 36.5, "m": 3.0}
ENDS = np.array([0.0, 0.0, 34.05, 0.5]), np.array([np.inf, 11.95, 60.0, 30.0])


@pytest.mark.parametrize(
    ("name", "shown", "not_shown"),
    [
        ("a", (1e-12,), (0.0,)),  # a factor is shown however small it is
        ("lower", (0.05, 0.06, 11.89), (0.0, 0.04, 11.91)),
        ("upper", (34.11, 59.94), (34.09, 59.96)),
        ("m", (0.5006, 29.96), (0.5, 0.5004, 29.98, 30.0)),
    ],
)
def test_what_lies_where_its_range_ends_is_not_shown_by_the_points(name, shown, not_shown):
    """To five hundredths of a degree, or a thousandth of a shape."""

    def is_set(value):
        return _set_by_range(
            LAW[RateLaw.BRIERE_2], np.array([*(AT | {name: value}).values()]), *ENDS
        )

    assert [is_set(each) for each in (AT[name], *shown)] == [False] * (1 + len(shown))
    assert [is_set(each) for each in not_shown] == [True] * len(not_shown)


def test_so_does_what_lies_below_zero():
    ends = np.array([1e-5, 34.05, 0.05, -20.0]), np.array([0.5, 60.0, 30.0, 0.0])
    shifts = ((-1.0, False), (-19.97, False), (-19.99, True), (-0.0011, False), (-0.0009, True))
    for shift, expected in (*shifts, (-1e-18, True), (0.0, True)):
        at = np.array([0.01, 38.0, 1.2, shift])
        assert _set_by_range(LAW[RateLaw.LACTIN_2], at, *ends) == expected


def test_a_law_whose_shift_would_have_to_be_above_0_is_left_out():
    """Lactin's is below it; such rates, of a stage of half a day, would need it above."""
    unshifted = np.exp(0.02 * CELSIUS) - np.exp(0.02 * 38 - (38 - CELSIUS) / 1.2)
    below, above = (rate_curves(CELSIUS, unshifted + shift) for shift in (-0.2, 0.2))
    assert RateLaw.LACTIN_2 in {each.law for each in below}
    assert above
    assert RateLaw.LACTIN_2 not in {each.law for each in above}


def test_thresholds_are_sought_beyond_the_points_and_the_rest_in_its_range():
    inf = np.inf
    assert [each.tolist() for each in _ends(LAW[RateLaw.BRIERE_1], CELSIUS)] == [
        [0, 0, 34.05], [inf, 11.95, 60]
    ]  # fmt: skip
    assert [each.tolist() for each in _ends(LAW[RateLaw.RATKOWSKY], CELSIUS)] == [
        [0, -30, 34.05, 1e-3], [inf, 11.95, 60, 5]
    ]  # fmt: skip
    assert [each.tolist() for each in _ends(LAW[RateLaw.LINE], CELSIUS)] == [[0, -60], [inf, 11.95]]


@pytest.mark.parametrize(
    ("coldest", "warmest", "beyond"),
    [(0.1, 30, True), (0.11, 30, False), (12, 59.9, True), (12, 59.89, False)],
)
def test_a_tenth_of_a_degree_is_left_for_a_threshold(coldest, warmest, beyond):
    assert _beyond(np.array([coldest, 20.0, warmest])) is beyond


def test_searches_begin_around_the_points_with_every_shape():
    weights, rates = np.ones(CELSIUS.size), by_hand(RateLaw.BRIERE_2, CELSIUS)
    found = [each.tolist()[1:] for each in _starts(LAW[RateLaw.BRIERE_2], CELSIUS, rates, weights)]
    assert found == [
        [lower, upper, m] for lower in (10, 5) for upper in (34.5, 37, 42) for m in (1.5, 4)
    ]
    whole = [each.tolist() for each in _starts(LAW[RateLaw.LACTIN_2], CELSIUS, rates, weights)]
    assert len(whole) == 27
    assert whole[0] == [0.003, 34.5, 0.5, -1.05]
    assert whole[-1] == [0.03, 42, 5, -1.05]


def test_limits_need_a_value_in_nineteen_of_twenty_experiments():
    """Percentiles by numpy's rule: of 1 to 95 the 2.5th is 1 + 0.025·94."""
    values = np.array([*np.arange(1.0, 96.0), *[np.nan] * 4, np.inf])
    found = _limits(values)
    assert found is not None
    assert (found.low, found.high) == pytest.approx((1 + 0.025 * 94, 95 - 0.025 * 94))
    values[0] = np.nan
    assert _limits(values) is None


X = np.array([12.0, 15.0, 18.0, 21.0, 24.0, 27.0])
OFF = np.array([1.0, -1.5, 0.2, 1.4, -2.0, 0.9])


def line_through(rates) -> tuple[LinearRate, RateCurve]:
    """The straight line, and the same as a law."""
    plain = linear_rate(X, 1 / rates)
    assert isinstance(plain, LinearRate)
    at = (plain.slope, plain.threshold)
    nothing = (None,) * 5
    return plain, RateCurve(
        RateLaw.LINE, ("slope", "lower"), at, plain.threshold, *nothing, 0.0, 0.0, 1.0, X.size
    )


def test_limits_without_errors_are_those_of_student():
    """Of a line whose threshold is known well: t on four degrees of freedom is 2.78, not 1.96."""
    rates = 0.01 * (X - 8) + 2e-4 * OFF
    plain, law = line_through(rates)
    found = _with_limits(law, X, rates, None).threshold_limits
    reach = stats.t.ppf(0.975, 4) * plain.threshold_se
    assert found.high - found.low == pytest.approx(2 * reach, rel=0.15)
    assert (found.low + found.high) / 2 == pytest.approx(plain.threshold, abs=0.2 * reach)


def test_points_that_lie_off_by_more_than_their_errors_make_limits_wider():
    """The same noise, times the root of χ² over its degrees of freedom: with errors so much larger
    limits are the same."""
    rates = 0.01 * (X - 8) + 2e-4 * OFF
    plain, law = line_through(rates)
    errors = np.linspace(1e-5, 6e-5, 6)
    scale = float(np.sum((np.array(plain.residuals) / errors) ** 2)) / 4
    assert scale > 1
    near, same, far = (
        _with_limits(law, X, rates, each * errors).threshold_limits
        for each in (1.0, scale**0.5, 3 * scale**0.5)
    )
    assert (near.low, near.high) == pytest.approx((same.low, same.high), rel=1e-6)
    assert (far.high - far.low) / (near.high - near.low) == pytest.approx(3, rel=0.05)


def test_errors_that_are_all_alike_change_no_curve():
    celsius = CELSIUS[:5]
    rates = by_hand(RateLaw.LINE, celsius) + 1e-3 * np.array([1, -1, 0, 2, -1])
    (plain,), (weighted,) = (rate_curves(celsius, rates, se) for se in (None, np.full(5, 3e-4)))
    assert weighted.aicc == pytest.approx(plain.aicc)
    assert weighted.parameters == pytest.approx(plain.parameters)
