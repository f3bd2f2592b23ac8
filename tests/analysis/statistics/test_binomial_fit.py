"""Logistic regression of groups against a reference library, numerical search and known truths."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from scipy.optimize import minimize

from rearlog.analysis.statistics.binomial_fit import binomial_fit, dependence, limit_of

CASES = [
    ([15.0, 20.0, 25.0, 28.0, 31.0, 33.0], [14, 6, 5, 9, 15, 25], [30, 31, 28, 30, 29, 30]),
    ([12.0, 17.0, 22.0, 27.0], [10, 2, 4, 15], [20, 20, 20, 20]),
    ([12.0, 17.0, 22.0, 27.0], [9, 2, 6, 13], [20, 20, 20, 20]),
    (
        [12.0, 17.0, 17.0, 22.0, 27.0, 27.0, 27.0],
        [0, 3, 9, 4, 15, 3, 12],
        [9, 40, 20, 8, 20, 5, 40],
    ),
]


def arrays(case: int, size: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    celsius, died, n = (np.array(each, dtype=float) for each in CASES[case])
    return np.vander(celsius - celsius.mean(), size, increasing=True), died, n


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("case", range(len(CASES)))
def test_the_fit_is_that_of_a_reference_library(case: int, size: int) -> None:
    design, died, n = arrays(case, size)
    found = binomial_fit(design, died, n)
    assert found is not None
    model = sm.GLM(np.column_stack((died, n - died)), design, family=sm.families.Binomial())
    plain = model.fit(tol=1e-13)
    scale = max(1.0, plain.pearson_chi2 / plain.df_resid)
    assert found.coefficients == pytest.approx(plain.params, rel=1e-8)
    assert found.dispersion == pytest.approx(scale, rel=1e-8)
    assert found.covariance == pytest.approx(
        model.fit(scale=scale, tol=1e-13).cov_params(), rel=1e-6
    )
    assert found.deviance == pytest.approx(plain.deviance, rel=1e-8)
    assert found.freedom == plain.df_resid == len(n) - size


def test_dependence_is_the_f_test_of_the_deviances() -> None:
    scattered: list[float] = []
    chance = []
    for case in range(len(CASES)):
        design, died, n = arrays(case, 3)
        found = binomial_fit(design, died, n)
        assert found is not None
        f, p = dependence(found, died, n)
        model = sm.GLM(np.column_stack((died, n - died)), design, family=sm.families.Binomial())
        plain = model.fit()
        expected = (plain.null_deviance - plain.deviance) / 2 / found.dispersion
        assert f == pytest.approx(expected, rel=1e-8)
        if found.dispersion > 1:
            scattered.append(found.dispersion)
            assert p == pytest.approx(stats.f.sf(expected, 2, found.freedom), rel=1e-8)
        else:
            chance.append(case)
            assert p == pytest.approx(stats.chi2.sf(2 * expected, 2), rel=1e-8)
    assert chance
    assert any(1 < each < 2 for each in scattered)
    assert any(each > 2 for each in scattered)


def test_the_maximum_is_that_of_a_search_by_another_way() -> None:
    design, died, n = arrays(0, 3)

    def unlikely(at: np.ndarray) -> float:
        logit = design @ at
        return float(np.sum(n * np.logaddexp(0, logit) - died * logit))

    searched = minimize(unlikely, np.zeros(3), method="Nelder-Mead", options={"xatol": 1e-9,
                        "fatol": 1e-12, "maxiter": 5000})  # fmt: skip
    found = binomial_fit(design, died, n)
    assert found is not None
    assert found.coefficients == pytest.approx(searched.x, abs=1e-4)


@pytest.mark.parametrize(
    "died",
    [
        [0, 0, 0, 20],  # any slope that is steep enough fits
        [20, 0, 0, 20],
        [0, 0, 0, 0],
        [20, 20, 20, 20],
    ],
)
def test_what_has_no_maximum_is_refused(died: list[int]) -> None:
    design, _, n = arrays(1, 3)
    assert binomial_fit(design, np.array(died, dtype=float), n) is None


def test_a_group_without_a_death_among_others_is_no_trouble() -> None:
    design, _, n = arrays(1, 2)
    found = binomial_fit(design, np.array([0.0, 2, 4, 15]), n)
    assert found is not None
    assert math.isfinite(found.deviance)


def test_limits_are_wider_where_the_scatter_was_estimated() -> None:
    assert limit_of(1.0, 1) == pytest.approx(1.959964, abs=1e-5)
    assert limit_of(1.5, 1) == pytest.approx(12.7062, abs=1e-3)
    assert limit_of(1.5, 4) == pytest.approx(2.77645, abs=1e-4)


@pytest.mark.parametrize(
    ("temperatures", "alike", "least", "most"),
    [(4, 0.0, 0.95, 0.98), (4, 0.1, 0.83, 0.90), (5, 0.03, 0.92, 0.97), (7, 0.1, 0.92, 0.97)],
)
def test_limits_hold_the_truth_about_as_often_as_is_said(
    temperatures: int, alike: float, least: float, most: float
) -> None:
    """Cohorts whose mortality is beta distributed about a quadratic logit."""
    rng = np.random.default_rng(temperatures)
    design = np.vander(np.linspace(-8, 8, temperatures), 3, increasing=True)
    truth = np.array([-1.5, 0.05, 0.03])
    part, n = 1 / (1 + np.exp(-design @ truth)), np.full(temperatures, 30.0)
    near = np.array([1.0, 1.0, 1.0])
    held = []
    for _ in range(800):
        luck = (
            part if alike == 0 else rng.beta(part * (1 / alike - 1), (1 - part) * (1 / alike - 1))
        )
        found = binomial_fit(design, rng.binomial(30, luck).astype(float), n)
        if found is not None:
            error = float(np.sqrt(near @ found.covariance @ near))
            off = abs(float(near @ (found.coefficients - truth)))
            held.append(off < limit_of(found.dispersion, found.freedom) * error)
    assert len(held) > 700
    assert least < np.mean(held) < most
