"""The weighted line and its test of lack of fit, against statsmodels and invented experiments."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.oneway import anova_oneway

from rearlog.analysis.statistics.weighted_line import unexplained, weighted_line

CELSIUS = np.array([15.0, 19.0, 23.0, 27.0, 31.0])


def experiment(seed, n, bend=0.0, celsius=CELSIUS):
    """n values a temperature about a line, with a bend and the same scatter everywhere."""
    rng = np.random.default_rng(seed)
    truth = 0.02 * (celsius - 10) - bend * (celsius - celsius.mean()) ** 2
    return rng.normal(truth, 0.02, (n, len(celsius)))


@pytest.mark.parametrize("bend", [0.0, 0.0005])
def test_with_a_common_variance_f_is_that_of_pure_error_against_lack_of_fit(bend):
    """Reference: statsmodels, the line against a mean for each temperature."""
    values = experiment(4, 12, bend)
    frame = pd.DataFrame({"rate": values.ravel(), "at": np.tile(CELSIUS, 12)})
    table = anova_lm(ols("rate ~ at", frame).fit(), ols("rate ~ C(at)", frame).fit())
    pooled = values.var(axis=0, ddof=1).mean()
    se = np.full(5, (pooled / 12) ** 0.5)
    found = weighted_line(CELSIUS, values.mean(axis=0), se, np.full(5, 1e9)).lack_of_fit
    assert found is not None
    assert found.f == pytest.approx(table["F"][1], rel=1e-6)
    assert found.df == table["df_diff"][1] == 3
    assert found.p == pytest.approx(stats.chi2.sf(3 * found.f, 3), rel=1e-4)


def test_with_a_constant_alone_it_is_the_test_of_welch():
    """Reference: statsmodels, groups of different sizes and variances."""
    rng = np.random.default_rng(8)
    groups = [rng.normal(10, sd, n) for sd, n in ((1, 5), (3, 9), (2, 14), (0.5, 4))]
    welch = anova_oneway(groups, use_var="unequal")
    n = np.array([len(each) for each in groups])
    se = np.array([each.std(ddof=1) for each in groups]) / n**0.5
    means = np.array([each.mean() for each in groups])
    found = unexplained(np.ones((4, 1)), means, se, n - 1.0)
    assert found.f == pytest.approx(welch.statistic)
    assert found.p == pytest.approx(welch.pvalue)
    assert found.df_within == pytest.approx(welch.df_denom)


def test_the_line_is_that_of_weighted_least_squares():
    """Reference: statsmodels WLS at a scale of 1."""
    y, se = experiment(2, 6).mean(axis=0), np.array([0.002, 0.004, 0.01, 0.003, 0.02])
    fit = sm.WLS(y, sm.add_constant(CELSIUS), weights=1 / se**2).fit(
        cov_type="fixed scale", cov_kwds={"scale": 1.0}
    )
    line = weighted_line(CELSIUS, y, se, np.full(5, 5.0))
    np.testing.assert_allclose([line.intercept, line.slope], fit.params)
    np.testing.assert_allclose(line.covariance, fit.cov_params())
    assert line.scatter == pytest.approx(max(1.0, np.sum((fit.resid / se) ** 2) / 3))


def test_two_points_leave_nothing_to_test():
    line = weighted_line(CELSIUS[:2], np.array([0.1, 0.2]), np.array([0.01, 0.01]), np.full(2, 9.0))
    assert line.slope == pytest.approx(0.025)
    assert line.lack_of_fit is None
    assert line.scatter == 1


@pytest.mark.slow
@pytest.mark.parametrize(("n", "most"), [(5, 0.085), (10, 0.065), (30, 0.06)])
def test_false_alarms_of_rates_of_uneven_cohorts(n, most):
    """Durations drawn here with a scatter of 4 to 20 % of the mean, K = 100 above 10 °C; the rate
    is that of the mean duration, as in `thermal`. And a real bend is found."""
    rng = np.random.default_rng(n)
    days, spread = 100 / (CELSIUS - 10), np.array([0.04, 0.2, 0.08, 0.12, 0.06])
    slow = np.array([1, 1, 1, 1, 1.35])  # the hottest takes a third longer than the line has it
    alarms = {}
    for name, took in (("straight", days), ("bent", days * slow)):
        drawn = took * np.exp(rng.normal(-(spread**2) / 2, spread, (3000, n, 5)))
        means, sds = drawn.mean(axis=1), drawn.std(axis=1, ddof=1)
        ps = []
        for mean, sd in zip(means, sds, strict=True):
            se = sd / n**0.5 / mean**2
            found = weighted_line(CELSIUS, 1 / mean, se, np.full(5, n - 1.0)).lack_of_fit
            assert found is not None
            ps.append(found.p)
        alarms[name] = np.mean(np.array(ps) < 0.05)
    print(f"n = {n}: false alarms {alarms['straight']:.3f}, bends found {alarms['bent']:.3f}")
    assert 0.03 < alarms["straight"] < most
    assert alarms["bent"] > (0.7 if n == 5 else 0.95)
