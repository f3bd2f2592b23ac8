import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from rearlog.analysis.comparing.rate_models import (
    IkemotoTakai,
    LinearRate,
    NoRate,
    WeightedRate,
    different_temperatures,
    ikemoto_takai,
    linear_rate,
    weighted_rate,
)

CELSIUS = np.array([15.0, 18.0, 21.0, 24.0, 27.0, 30.0])
WIDE = np.array([13.0, 17.0, 21.0, 25.0, 29.0, 32.0, 34.0])


def noisy_days(celsius, threshold, constant, cv, seed):
    noise = np.random.default_rng(seed).normal(0, cv, np.shape(celsius))
    return constant / (celsius - threshold) * np.exp(noise)


# --- the temperatures ----------------------------------------------------------------------------


def test_temperatures_less_than_half_a_degree_apart_are_one_wherever_they_lie() -> None:
    """By hand: 20.2 and 20.3 are one shelf, though they lie on two sides of 20.25."""
    assert different_temperatures([20.3, 20.2]) == 1
    assert different_temperatures([20.0, 20.5]) == 2
    assert different_temperatures([16.0, 16.4, 16.8, 30.0]) == 3
    assert different_temperatures([]) == 0


# --- the straight line ---------------------------------------------------------------------------


@settings(deadline=None)
@given(
    threshold=st.floats(-5, 12),
    constant=st.floats(20, 2000),
    celsius=st.lists(st.integers(26, 70), min_size=2, max_size=9, unique=True),
)
def test_both_methods_give_back_the_constants_that_made_the_durations(threshold, constant, celsius):
    temperatures = np.array(celsius) / 2
    days = constant / (temperatures - threshold)

    line = linear_rate(temperatures, days)
    axis = ikemoto_takai(temperatures, days)

    assert isinstance(line, LinearRate)
    assert isinstance(axis, IkemotoTakai)
    np.testing.assert_allclose([line.threshold, line.constant], [threshold, constant], 1e-6, 1e-6)
    np.testing.assert_allclose([axis.threshold, axis.constant], [threshold, constant], 1e-5, 1e-5)


@settings(deadline=None)
@given(seed=st.integers(0, 10_000), cv=st.floats(0.005, 0.1))
def test_standard_errors_agree_with_the_delta_method(seed, cv):
    """Reference: covariance of the coefficients by numpy.polyfit, propagated to −a/b and 1/b."""
    days = noisy_days(CELSIUS, 10, 300, cv, seed)
    fit = linear_rate(CELSIUS, days)
    (slope, intercept), covariance = np.polyfit(CELSIUS, 1 / days, 1, cov=True)
    by_coefficients = np.array([[intercept / slope**2, -1 / slope], [-1 / slope**2, 0]])
    threshold_var, constant_var = np.diag(by_coefficients @ covariance @ by_coefficients.T)

    assert isinstance(fit, LinearRate)
    assert fit.threshold_se == pytest.approx(np.sqrt(threshold_var), rel=1e-6)
    assert fit.constant_se == pytest.approx(np.sqrt(constant_var), rel=1e-6)
    limit = stats.t.ppf(0.975, len(CELSIUS) - 2)
    for value, se, low, high in (
        (fit.threshold, fit.threshold_se, fit.threshold_low, fit.threshold_high),
        (fit.constant, fit.constant_se, fit.constant_low, fit.constant_high),
    ):
        assert high == pytest.approx(value + limit * se, rel=1e-6)
        assert low == pytest.approx(value - limit * se, rel=1e-6) or low == 0 > value - limit * se
    assert fit.r2 == pytest.approx(np.corrcoef(CELSIUS, 1 / days)[0, 1] ** 2)
    np.testing.assert_allclose(fit.rate(CELSIUS) + fit.residuals, 1 / days)


def test_a_constant_that_is_hardly_known_has_limits_from_0_on():
    fit = linear_rate([18, 20, 22], [20.0, 24.0, 14.0])
    assert isinstance(fit, LinearRate)
    assert fit.constant_low == 0
    assert fit.constant_high > 2 * fit.constant


def test_band_agrees_with_the_covariance_of_the_coefficients_and_a_table_of_t():
    """Reference: numpy.polyfit; t(0.975, 4) = 2.776 (common tables)."""
    days = noisy_days(CELSIUS, 10, 300, 0.05, seed=3)
    at = np.array([10.0, 20.0, 33.0])
    coefficients, covariance = np.polyfit(CELSIUS, 1 / days, 1, cov=True)
    design = np.column_stack([at, np.ones(3)])
    se = np.sqrt(np.sum(design @ covariance * design, axis=1))
    fit = linear_rate(CELSIUS, days)

    assert isinstance(fit, LinearRate)
    band = fit.band(at)
    assert band is not None
    np.testing.assert_allclose(band[0], design @ coefficients - 2.776 * se, rtol=1e-3)
    np.testing.assert_allclose(band[1], design @ coefficients + 2.776 * se, rtol=1e-3)


@settings(deadline=None)
@given(seed=st.integers(0, 1000), factor=st.floats(0.01, 100), shift=st.floats(-10, 10))
def test_results_follow_the_units_and_not_the_order(seed, factor, shift):
    days = noisy_days(CELSIUS, 10, 300, 0.05, seed)
    turned = np.random.default_rng(seed).permutation(CELSIUS.size)

    line, moved = linear_rate(CELSIUS, days), linear_rate(CELSIUS + shift, days * factor)
    axis, scaled = (
        ikemoto_takai(CELSIUS, days),
        ikemoto_takai(CELSIUS[turned], days[turned] * factor),
    )
    assert isinstance(line, LinearRate)
    assert isinstance(moved, LinearRate)
    assert isinstance(axis, IkemotoTakai)
    assert isinstance(scaled, IkemotoTakai)
    assert moved.threshold == pytest.approx(line.threshold + shift, abs=1e-6)
    assert moved.threshold_se == pytest.approx(line.threshold_se)
    assert moved.constant == pytest.approx(line.constant * factor)
    assert scaled.threshold == pytest.approx(axis.threshold)
    assert scaled.constant == pytest.approx(axis.constant * factor)
    assert scaled.constant_se == pytest.approx((axis.constant_se or 0) * factor)


def test_the_reduced_major_axis_is_the_mean_of_the_two_regressions():
    """Its slope is the geometric mean of y on x and of x on y turned round (the definition)."""
    days = noisy_days(CELSIUS, 10, 300, 0.05, seed=5)
    products = days * CELSIUS
    fit = ikemoto_takai(CELSIUS, days)

    assert isinstance(fit, IkemotoTakai)
    upright = np.polyfit(days, products, 1)[0]
    turned = 1 / np.polyfit(products, days, 1)[0]
    assert fit.threshold == pytest.approx(np.sqrt(upright * turned))
    assert np.mean(products) == pytest.approx(fit.constant + fit.threshold * np.mean(days))


def test_two_points_have_no_standard_error_nor_band():
    line, axis = linear_rate([20, 25], [20, 12]), ikemoto_takai([20, 25], [20, 12])

    assert isinstance(line, LinearRate)
    assert isinstance(axis, IkemotoTakai)
    # by hand: K = 20·(20 − T0) = 12·(25 − T0), so T0 = 12.5 and K = 150
    np.testing.assert_allclose([line.threshold, line.constant], [12.5, 150])
    np.testing.assert_allclose([axis.threshold, axis.constant], [12.5, 150])
    assert line.threshold_se is line.constant_se is line.slope_se is line.r2 is None
    assert axis.threshold_se is axis.constant_se is axis.r2 is None
    assert line.band([20]) is None


def test_a_threshold_of_zero_is_a_threshold():
    axis = ikemoto_takai([10, 20, 25], [20, 10, 8])

    assert isinstance(axis, IkemotoTakai)
    assert (axis.threshold, axis.constant) == (0, 200)


@pytest.mark.parametrize("model", [linear_rate, ikemoto_takai])
@pytest.mark.parametrize(
    ("celsius", "days", "reason"),
    [
        ([20], [15], NoRate.FEW_TEMPERATURES),
        ([20, 20, 20], [15, 16, 17], NoRate.FEW_TEMPERATURES),
        ([20, 25, 30], [0.1, 0.1, 0.1], None),
        ([7.76, 23.01, 26.54, 19.22, 20.35, 29.2, 13.53], [46.2] * 7, None),  # slope 1e-34
        ([20, 25, 30], [15, 16, 18], NoRate.NOT_FASTER),
    ],
)
def test_points_that_give_no_threshold_say_why(model, celsius, days, reason):
    answer = model(celsius, days)

    assert isinstance(answer, NoRate)
    assert answer is reason or reason is None


@pytest.mark.parametrize("model", [linear_rate, ikemoto_takai])
@pytest.mark.parametrize(
    ("celsius", "days"),
    [
        ([], []),
        ([20, 25], [15]),
        ([[20], [25]], [[15], [12]]),
        ([20, 25], [15, 0]),
        ([20, 25], [15, np.nan]),
        ([np.inf, 25], [15, 12]),
        ([20, 25], [15, np.inf]),
        ([20, 25], [15, -1]),
    ],
)
def test_numbers_that_are_no_durations_are_refused(model, celsius, days):
    with pytest.raises(ValueError, match=r"durations|length"):
        model(celsius, days)


@pytest.mark.parametrize("n", [4, 6])
def test_standard_errors_of_the_line_are_the_scatter_between_experiments(n):
    """The noise is the same at all temperatures, as least squares takes it to be."""
    celsius = np.linspace(15, 28, n)
    fits = []
    for seed in range(1500):
        noise = np.random.default_rng(seed).normal(0, 0.001, n)
        fit = linear_rate(celsius, 1 / ((celsius - 10) / 300 + noise))
        assert isinstance(fit, LinearRate)
        fits.append([fit.threshold, fit.constant, fit.threshold_se, fit.constant_se])

    assert_errors_are_the_scatter(fits)


@pytest.mark.parametrize("n", [4, 6])
def test_standard_errors_of_the_axis_are_the_scatter_between_experiments(n):
    """The noise is the same share of each duration; the standard errors are approximations."""
    celsius = np.linspace(15, 28, n)
    fits = []
    for seed in range(1500):
        fit = ikemoto_takai(celsius, noisy_days(celsius, 10, 300, 0.03, seed))
        assert isinstance(fit, IkemotoTakai)
        fits.append([fit.threshold, fit.constant, fit.threshold_se, fit.constant_se])

    assert_errors_are_the_scatter(fits)


def assert_errors_are_the_scatter(fits):
    scatter = np.std(fits, axis=0)[:2]
    stated = np.sqrt(np.mean(np.square(fits), axis=0))[2:]
    np.testing.assert_allclose(stated, scatter, rtol=0.08)
    np.testing.assert_allclose(np.mean(fits, axis=0)[:2], [10, 300], rtol=0.01)


def test_the_band_covers_the_true_rate_as_often_as_it_says():
    truth = (CELSIUS - 10) / 300
    rng = np.random.default_rng(11)
    inside = []
    for _ in range(3000):
        fit = linear_rate(CELSIUS, 1 / (truth + rng.normal(0, 0.002, CELSIUS.size)))
        assert isinstance(fit, LinearRate)
        band = fit.band([16, 29])
        assert band is not None
        inside.append((band[0] <= np.array([6, 19]) / 300) & (np.array([6, 19]) / 300 <= band[1]))

    np.testing.assert_allclose(np.mean(inside, axis=0), 0.95, atol=0.012)


def test_a_threshold_below_zero_has_an_error_above_it():
    """D·T = 220, 195, 190 fall with D = 10, 15, 20; r by numpy."""
    days, products = np.array([10.0, 15.0, 20.0]), np.array([220.0, 195.0, 190.0])
    found = ikemoto_takai(products / days, days)
    assert isinstance(found, IkemotoTakai)
    r = np.corrcoef(days, products)[0, 1]
    assert found.threshold == pytest.approx(-products.std() / days.std())
    assert found.threshold_se == pytest.approx(-found.threshold * np.sqrt(1 - r**2))
    assert found.constant_se == pytest.approx(found.threshold_se * np.sqrt(np.mean(days**2)))


def test_a_weighted_line_by_hand_and_why_there_is_none():
    """Through (20, 0.05) and (25, 0.1), with errors of a tenth: 0.01 a degree above 15 °C; the
    variance of the slope is (0.005² + 0.01²)/25, and that of the threshold the delta method's."""
    found = weighted_rate([20, 25], [0.05, 0.1], [0.005, 0.01], [5, 5])
    assert isinstance(found, WeightedRate)
    assert (found.threshold, found.constant) == pytest.approx((15, 100))
    assert found.constant_se == pytest.approx((0.005**2 + 0.01**2) ** 0.5 / 5 / 0.01**2)
    # T0 = (25·0.05 − 20·0.1)/(0.05 − 0.1), its slopes by the two rates −200 and 100
    assert found.threshold_se == pytest.approx(((200 * 0.005) ** 2 + (100 * 0.01) ** 2) ** 0.5)
    assert (found.n, found.lack_of_fit) == (2, None)
    one = weighted_rate([20, 20], [0.05, 0.1], [0.01, 0.01], [5, 5])
    level = weighted_rate([20, 25, 30], [0.1, 0.1, 0.1], [0.01, 0.01, 0.01], [5, 5, 5])
    falling = weighted_rate([20, 25], [0.1, 0.05], [0.01, 0.01], [5, 5])
    assert one is NoRate.FEW_TEMPERATURES
    assert level is falling is NoRate.NOT_FASTER


def test_how_far_a_threshold_lies_below_the_coldest_point():
    line = linear_rate([20, 25], [20, 10])
    assert isinstance(line, LinearRate)
    assert line.threshold == pytest.approx(15)
    assert line.drawn_out == pytest.approx(5)
    bent = linear_rate([10, 20, 22, 25], [30, 12, 4, 2])
    assert isinstance(bent, LinearRate)
    assert bent.threshold > 10
    assert bent.drawn_out == 0
