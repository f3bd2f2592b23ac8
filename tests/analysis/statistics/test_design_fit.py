"""Fits of designs to times, against statsmodels where all is known and lifelines where not."""

import math
import os
import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from lifelines import LogNormalAFTFitter, WeibullAFTFitter
from scipy.stats import binomtest, ttest_ind
from scipy.stats import t as student_t
from statsmodels.stats.anova import anova_lm

from rearlog.analysis.statistics.accelerated_life import (
    DesignFit,
    Times,
    accelerated_life,
    design_fit,
)

DESIGN = np.array([[1, 1, 1], [1, 1, -1], [1, -1, 1], [1, -1, -1]], dtype=float)
"""Two factors of two levels, which add up; a row a combination."""


def exact(values: np.ndarray) -> Times:
    return Times(values, values, np.zeros(len(values)))


def four(rng: np.random.Generator) -> list[np.ndarray]:
    """Log-normal times of four combinations, of different numbers."""
    logs = DESIGN @ [2.3, 0.1, 0.25]
    return [np.exp(rng.normal(mean, 0.2, n)) for mean, n in zip(logs, (7, 12, 9, 15), strict=True)]


def framed(samples: list[np.ndarray]) -> pd.DataFrame:
    rows = [
        {"y": math.log(value), "a": row[1], "b": row[2]}
        for row, sample in zip(DESIGN, samples, strict=True)
        for value in sample
    ]
    return pd.DataFrame(rows)


@pytest.mark.parametrize("seed", range(2))
def test_times_that_are_known_give_the_f_and_errors_of_least_squares(seed: int) -> None:
    """Reference: statsmodels, least squares of ln time, and the comparison of nested models."""
    samples = four(np.random.default_rng(seed))
    times, frame = [exact(each) for each in samples], framed(samples)
    both, alone = smf.ols("y ~ a + b", frame).fit(), smf.ols("y ~ a", frame).fit()
    found = design_fit(times, DESIGN, "log-normal")
    assert found.coefficients == pytest.approx(both.params.to_numpy(), abs=1e-5)
    errors = np.sqrt(np.diag(found.covariance))
    assert errors == pytest.approx(both.bse.to_numpy(), rel=1e-4)
    assert found.freedom == both.df_resid
    less = design_fit(times, DESIGN[:, :2], "log-normal")
    gain = 2 * (found.log_likelihood - less.log_likelihood)
    f = math.expm1(gain / len(frame)) * found.freedom
    assert f == pytest.approx(anova_lm(alone, both)["F"].iloc[1], rel=1e-4)
    spread = both.ssr / len(frame)
    assert found.log_mean == pytest.approx(spread / 2, rel=1e-4)


@pytest.mark.parametrize(
    ("family", "fitter"), [("log-normal", LogNormalAFTFitter), ("Weibull", WeibullAFTFitter)]
)
def test_times_between_checks_give_the_likelihood_and_ratios_of_lifelines(
    family: str, fitter: type
) -> None:
    samples = four(np.random.default_rng(5))
    times = [
        Times(np.floor(each), np.where(each > 18, np.inf, np.floor(each) + 1), np.zeros(len(each)))
        for each in samples
    ]
    rows = [
        {"low": max(low, 1e-9), "high": high, "a": row[1], "b": row[2]}
        for row, each in zip(DESIGN, times, strict=True)
        for low, high in zip(each.low, each.high, strict=True)
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        reference = fitter().fit_interval_censoring(
            pd.DataFrame(rows), lower_bound_col="low", upper_bound_col="high"
        )
    found = design_fit(times, DESIGN, family)
    assert found.log_likelihood == pytest.approx(reference.log_likelihood_, abs=1e-3)
    name = "mu_" if family == "log-normal" else "lambda_"
    table = reference.summary.loc[name]
    assert found.coefficients[1:] == pytest.approx(table.loc[["a", "b"], "coef"], abs=1e-3)
    events = sum(each.events for each in times)
    less = (events / found.freedom) ** 0.5
    errors = np.sqrt(np.diag(found.covariance))[1:]
    assert errors / less == pytest.approx(table.loc[["a", "b"], "se(coef)"], rel=1e-2)


def test_a_group_in_a_design_is_the_fit_of_it_alone() -> None:
    """Also the family that is found where none is given."""
    times = exact(four(np.random.default_rng(6))[0])
    alone = accelerated_life([times])
    found = design_fit([times], np.ones((1, 1)))
    assert found.family == alone.family
    assert found.log_likelihood == pytest.approx(alone.log_likelihood, abs=1e-9)
    mean = np.exp(found.coefficients[0] + found.log_mean)
    assert mean == pytest.approx(alone.groups[0].mean, rel=1e-9)


def test_a_design_of_all_groups_has_a_level_of_each_and_one_shape_for_all() -> None:
    """Log-normal by hand: the means of the logarithms, and the mean square of what is left."""
    samples = four(np.random.default_rng(6))
    found = design_fit([exact(each) for each in samples], np.eye(4), "log-normal")
    logs = [np.log(each) for each in samples]
    assert found.coefficients == pytest.approx([each.mean() for each in logs], abs=1e-6)
    left = np.concatenate([each - each.mean() for each in logs])
    assert found.log_mean == pytest.approx((left**2).mean() / 2, rel=1e-5)


def test_clusters_within_groups_give_the_t_test_of_their_means() -> None:
    """Reference: scipy.stats.ttest_ind of the means of cages of one size."""
    rng = np.random.default_rng(7)
    logs = [rng.normal(2, 0.2, (4, 1)) + rng.normal(0, 0.1, (4, 5)) for _ in range(2)]
    times = [exact(np.exp(each.ravel())) for each in logs]
    design = np.array([[1.0, 0.0], [1.0, 1.0]])
    found = design_fit(times, design, "log-normal", np.repeat(np.arange(8), 5))
    t = found.coefficients[1] / found.covariance[1, 1] ** 0.5
    reference = ttest_ind(logs[1].mean(axis=1), logs[0].mean(axis=1))
    assert t == pytest.approx(reference.statistic, rel=1e-4)
    assert found.freedom == reference.df == 6


def test_clusters_across_groups_give_the_sandwich_of_statsmodels() -> None:
    samples = four(np.random.default_rng(8))
    frame = framed(samples)
    clusters = np.arange(len(frame)) % 11
    reference = smf.ols("y ~ a + b", frame).fit(
        cov_type="cluster", cov_kwds={"groups": clusters, "use_correction": False}
    )
    found = design_fit([exact(each) for each in samples], DESIGN, "log-normal", clusters)
    assert found.freedom == 11 - 3
    expected = reference.cov_params().to_numpy() * 11 / 8
    assert found.covariance == pytest.approx(expected, rel=1e-3, abs=1e-8)


def test_what_cannot_be_fitted_is_refused() -> None:
    times = [exact(each) for each in four(np.random.default_rng(9))]
    with pytest.raises(ValueError, match="no more clusters than coefficients"):
        design_fit(times, DESIGN, "log-normal", np.arange(43) % 3)
    with pytest.raises(ValueError, match="fewer than 3 events"):
        design_fit([*times[:3], exact(np.array([1.0, 2.0]))], DESIGN, "log-normal")


@pytest.mark.slow
def test_whole_cages_call_differences_as_rarely_as_is_said() -> None:
    """Cages that differ among themselves, looked at once a day, and factors that do nothing: by
    whole cages one in twenty is called different, by individuals many more (in 4,000 designs: 5.5 %
    and 23 %)."""
    rng = np.random.default_rng(12)
    rounds, cages, size = int(os.environ.get("REARLOG_DESIGNS", "400")), 4, 6
    labels = np.repeat(np.arange(4 * cages), size)
    called, taken = 0, 0
    for _ in range(rounds):
        logs = rng.normal(2.6, 0.08, 4 * cages)[labels] + rng.normal(0, 0.12, len(labels))
        low = np.floor(np.exp(logs))
        times = [Times(*(np.split(each, 4)[cell] for each in (low, low + 1, np.zeros_like(low))))
                 for cell in range(4)]  # fmt: skip
        whole = design_fit(times, DESIGN, "log-normal", labels)
        alone = design_fit(times, DESIGN, "log-normal")
        called += _p(whole) < 0.05
        taken += _p(alone) < 0.05
    assert binomtest(called, rounds, 0.05).pvalue > 0.001
    assert taken > 3 * called


def _p(fit: DesignFit) -> float:
    t = fit.coefficients[1] / fit.covariance[1, 1] ** 0.5
    return float(2 * student_t.sf(abs(t), fit.freedom))
