"""Dyar's ratio of animals that were followed from instar to instar."""

import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from rearlog.analysis.growth.instars import Dyar, dyar


def followed(seed, animals=12, instars=5, between=0.08, within=0.02, growing=0.01):
    """Animals large or small by `between`, each with a ratio of its own (`growing`)."""
    rng = np.random.default_rng(seed)
    numbers = np.tile(np.arange(1, instars + 1), animals)
    whose = np.repeat(np.arange(animals), instars)
    logs = np.log(0.4) + np.log(1.5) * numbers
    logs = logs + rng.normal(0, between, animals)[whose]
    logs = logs + rng.normal(0, growing, animals)[whose] * (numbers - numbers.mean())
    return numbers, np.exp(logs + rng.normal(0, within, logs.size)), whose


def test_of_animals_measured_in_all_instars_it_is_the_mean_of_their_own_slopes():
    """Reference: scipy, the line of each animal by itself, and the standard error of their mean."""
    numbers, widths, whose = followed(3)
    fit = dyar(numbers, widths, whose)
    slopes = [
        stats.linregress(numbers[whose == each], np.log(widths[whose == each])).slope
        for each in range(12)
    ]
    assert isinstance(fit, Dyar)
    assert fit.ratio == pytest.approx(np.exp(np.mean(slopes)))
    assert fit.se == pytest.approx(fit.ratio * stats.sem(slopes))
    assert (fit.followed, fit.n) == (12, 60)


def test_of_two_instars_it_is_the_paired_difference():
    """Reference: scipy's t test of pairs, of the logarithms."""
    numbers, widths, whose = followed(8, animals=7, instars=2)
    before, after = np.log(widths[::2]), np.log(widths[1::2])
    paired = stats.ttest_rel(after, before)
    fit = dyar(numbers, widths, whose)
    assert isinstance(fit, Dyar)
    assert np.log(fit.ratio) == pytest.approx(np.mean(after - before))
    assert fit.se is not None
    assert fit.se / fit.ratio == pytest.approx(np.mean(after - before) / paired.statistic)


def test_with_gaps_it_agrees_with_errors_that_are_robust_to_what_binds_an_animal():
    """Reference: statsmodels OLS with an intercept an animal and clustered errors."""
    numbers, widths, whose = followed(5)
    kept = np.random.default_rng(1).random(numbers.size) < 0.7
    frame = pd.DataFrame({"y": np.log(widths), "at": numbers, "who": whose})[kept]
    fit = dyar(numbers[kept], widths[kept], whose[kept])
    model = smf.ols("y ~ at + C(who)", frame)
    robust = model.fit(
        cov_type="cluster", cov_kwds={"groups": frame["who"], "use_correction": False}
    )
    assert isinstance(fit, Dyar)
    assert fit.se is not None
    assert np.log(fit.ratio) == pytest.approx(robust.params["at"])
    correction = (fit.followed / (fit.followed - 1)) ** 0.5
    assert fit.se / fit.ratio == pytest.approx(robust.bse["at"] * correction)


def test_it_agrees_with_a_mixed_model():
    """Reference: statsmodels MixedLM, an intercept and a slope an animal."""
    numbers, widths, whose = followed(11, animals=20)
    frame = pd.DataFrame({"y": np.log(widths), "at": numbers - 3.0, "who": whose})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its search warns of the boundary
        mixed = smf.mixedlm("y ~ at", frame, groups="who", re_formula="~at").fit()
    fit = dyar(numbers, widths, whose)
    assert isinstance(fit, Dyar)
    assert fit.se is not None
    assert np.log(fit.ratio) == pytest.approx(mixed.params["at"], rel=1e-4)
    assert fit.se / fit.ratio == pytest.approx(mixed.bse["at"], rel=0.05)


def test_animals_measured_once_leave_widths_as_those_of_different_animals():
    numbers, widths, whose = followed(2)
    alone = dyar(numbers, widths, np.arange(numbers.size))
    assert alone == dyar(numbers, widths)
    assert isinstance(alone, Dyar)
    assert alone.followed is None
    one = dyar(numbers[:5], widths[:5], whose[:5])
    assert isinstance(one, Dyar)
    assert one.followed is None  # one animal does not tell how animals differ
    two = dyar(numbers[:10], widths[:10], whose[:10])
    assert isinstance(two, Dyar)
    slopes = [
        np.polyfit(numbers[own], np.log(widths[own]), 1)[0] for own in (slice(5), slice(5, 10))
    ]
    assert (two.followed, two.ratio) == (2, pytest.approx(np.exp(np.mean(slopes))))
    assert two.se == pytest.approx(two.ratio * abs(slopes[0] - slopes[1]) / 2)


def test_few_that_were_followed_do_not_decide_for_many_that_were_not():
    numbers, widths, whose = followed(4)
    codes = np.where(whose < 5, whose, 100 + np.arange(whose.size))  # 25 of 60 widths
    fit = dyar(numbers, widths, codes)
    assert isinstance(fit, Dyar)
    assert fit.followed is None
    half = dyar(numbers, widths, np.where(whose < 6, whose, 100 + np.arange(whose.size)))
    assert isinstance(half, Dyar)
    assert half.followed == 6


def test_the_error_is_the_scatter_between_experiments_and_the_other_was_too_wide():
    """Reference: 800 cohorts invented here, whose mean ratio is 1.5."""
    pairs = []
    for seed in range(800):
        numbers, widths, whose = followed(seed)
        within, apart = dyar(numbers, widths, whose), dyar(numbers, widths)
        assert isinstance(within, Dyar)
        assert isinstance(apart, Dyar)
        pairs.append([within.ratio, within.se, apart.se])
    ratio, own, other = np.array(pairs, dtype=float).T
    scatter = ratio.std(ddof=1)
    limit = stats.t.ppf(0.975, 11)
    held = np.mean(np.abs(ratio - 1.5) <= limit * own)
    print(f"within {np.mean(own) / scatter:.2f}, apart {np.mean(other) / scatter:.2f}; {held:.3f}")
    assert np.mean(own) / scatter == pytest.approx(1, abs=0.06)
    assert np.mean(other) / scatter > 1.8
    assert held == pytest.approx(0.95, abs=0.02)
