"""The log-rank test of interval-censored times, against references for times that are known, and
against invented cohorts that differ in nothing but how often somebody looks."""

import numpy as np
import pytest
from lifelines.statistics import multivariate_logrank_test
from scipy.stats import chi2, permutation_test

from rearlog.analysis.statistics import interval_log_rank as module
from rearlog.analysis.statistics.interval_log_rank import (
    NoLogRank,
    interval_log_rank,
    log_rank_scores,
)
from rearlog.analysis.statistics.turnbull import turnbull
from tests.usual_log_rank import SHOWN, usual_log_rank


def right_censored(rng, n, scale=10.0):
    """Whole days with ties, as exact times or as (day, inf)."""
    days = np.ceil(rng.weibull(1.5, n) * scale)
    return days, np.where(rng.random(n) < 0.7, days, np.inf)


@pytest.mark.parametrize("seed", range(5))
def test_deaths_expected_are_those_of_the_log_rank_test_where_times_are_known(seed):
    """By the definition of the test: at each death, the part of those at risk in each group."""
    rng = np.random.default_rng(seed)
    groups = [right_censored(rng, n) for n in (15, 22, 30)]
    found = interval_log_rank(groups)
    days = np.concatenate([left for left, _ in groups])
    deaths = days[np.isfinite(np.concatenate([right for _, right in groups]))]
    expected = [
        sum((left >= day).sum() / (days >= day).sum() for day in deaths) for left, _ in groups
    ]

    assert found.observed == tuple(np.isfinite(right).sum() for _, right in groups)
    assert found.expected == pytest.approx(expected)


def test_p_is_about_that_of_lifelines_where_times_are_known():
    rng = np.random.default_rng(2)
    groups = [right_censored(rng, 60), right_censored(rng, 60, scale=13)]
    days = np.concatenate([left for left, _ in groups])
    died = np.concatenate([np.isfinite(right) for _, right in groups])
    reference = multivariate_logrank_test(days, np.repeat([0, 1], 60), died).p_value

    assert 0.001 < reference < 0.2
    found = interval_log_rank(groups)
    assert found.p == pytest.approx(reference, abs=0.02)
    assert chi2.sf(found.chi2, found.df) == pytest.approx(reference, abs=0.02)


def test_a_deal_that_none_of_all_tried_is_as_far_as_counts_as_one_of_them():
    """All of one group die on day 1 and all of the other on day 9: one of 2000."""
    groups = [(np.full(30, day), np.full(30, day)) for day in (1.0, 9.0)]
    assert interval_log_rank(groups).p == 1 / 2000


def test_p_does_not_depend_on_how_many_are_dealt_out_at_a_time(monkeypatch):
    rng = np.random.default_rng(2)
    groups = [right_censored(rng, 20), right_censored(rng, 20, scale=13)]
    at_once = interval_log_rank(groups).p
    monkeypatch.setattr(module, "AT_ONCE", 40 * 150)
    assert interval_log_rank(groups).p == interval_log_rank(groups, seed=1).p == at_once


def test_p_is_that_of_a_reference_permutation_of_the_scores():
    """Reference: scipy.stats.permutation_test, all permutations, of Welch's t squared."""
    rng = np.random.default_rng(6)
    groups = [right_censored(rng, 7), right_censored(rng, 8, scale=20)]
    left, right = np.concatenate(groups, axis=1)
    scores = log_rank_scores(left, right, turnbull(left, right))

    def welch(a, b, axis):
        spread = a.var(axis=axis, ddof=1) / a.shape[axis] + b.var(axis=axis, ddof=1) / b.shape[axis]
        return (a.mean(axis=axis) - b.mean(axis=axis)) ** 2 / spread

    reference = permutation_test(
        (scores[:7], scores[7:]),
        welch,
        vectorized=True,
        n_resamples=np.inf,
        alternative="greater",
    )
    found = interval_log_rank(groups)

    assert found.statistic == pytest.approx(reference.statistic)
    assert found.p == pytest.approx(reference.pvalue, abs=0.025)


def test_the_scores_of_all_sum_to_nothing():
    rng = np.random.default_rng(4)
    left = rng.integers(0, 12, 80).astype(float)
    right = np.where(rng.random(80) < 0.3, np.inf, left + rng.integers(1, 4, 80))

    assert log_rank_scores(left, right, turnbull(left, right)).sum() == pytest.approx(0, abs=1e-7)


def test_what_cannot_be_compared_has_a_reason():
    alive = ([5.0, 5.0], [np.inf, np.inf])
    dead = ([1.0, 1.0], [2.0, 2.0])
    for groups, reason in (
        ([alive, alive], NoLogRank.NO_EVENTS),
        ([dead, dead], NoLogRank.ALL_ALIKE),
        ([alive, ([1.0], [2.0])], NoLogRank.TOO_FEW),
        ([dead, ([], [])], NoLogRank.NOBODY),
    ):
        found = interval_log_rank(groups)
        assert (found.p, found.chi2, found.df, found.reason) == (None, None, 0, reason)
    with pytest.raises(ValueError, match="two or more"):
        interval_log_rank([alive])


def test_none_dead_beside_two_dead_is_chance():
    """By hand: of 40 individuals two have died; both fall into one group in 18.7/39 of cases."""
    none = (np.full(20, 9.0), np.full(20, np.inf))
    two = (np.r_[[3.0, 4.0], np.full(18, 9.0)], np.r_[[4.0, 5.0], np.full(18, np.inf)])

    assert interval_log_rank([none, two]).p == pytest.approx(19 / 39, abs=0.04)


def found_dead(rng, n, every, scale=4.0, dying=0.9, last=30.0, laid_within=4.0):
    """The intervals of deaths in a cohort laid over some days and looked at every so many days."""
    laid = rng.random(n) * laid_within + rng.random() * every
    death = laid + np.where(rng.random(n) < dying, scale * rng.weibull(1.5, n), np.inf)
    end = np.minimum(death, last)
    found = np.ceil(end / every) * every
    return np.maximum(found - every - laid, 0.0), np.where(death < last, found - laid, np.inf)


def false_alarms(sizes, every, runs, seed=1, **cohort):
    """How often p < 0.05, here and by the log-rank test of deaths dated when they were found."""
    rng = np.random.default_rng(seed)
    here = usual = 0
    for run in range(runs):
        groups = [found_dead(rng, n, days, **cohort) for n, days in zip(sizes, every, strict=True)]
        p = interval_log_rank(groups, seed=run).p
        here += p is not None and p < 0.05
        if len(groups) == 2:
            died = [np.isfinite(right) for _, right in groups]
            found = [np.where(np.isinf(right), 30.0, right) for _, right in groups]
            usual += usual_log_rank(found, died) > SHOWN
    return here / runs, usual / runs


def test_looking_every_third_day_is_not_dying_later():
    here, usual = false_alarms((40, 40), (1, 3), runs=150)

    assert here < 0.09
    assert usual > 0.1


def test_a_true_difference_is_shown_although_cohorts_were_not_looked_at_alike():
    rng = np.random.default_rng(3)
    shown = [
        (interval_log_rank([found_dead(rng, 40, 1), found_dead(rng, 40, 3, scale=12)]).p or 1)
        < 0.05
        for _ in range(40)
    ]
    assert np.mean(shown) > 0.6


@pytest.mark.slow
@pytest.mark.parametrize("sizes", [(12, 12), (40, 40), (12, 36), (36, 12), (20, 20, 40)])
@pytest.mark.parametrize("every", [(1, 3, 1), (1, 1, 1), (1, 7, 3)])
@pytest.mark.parametrize("cohort", [{}, {"scale": 10, "dying": 0.5, "laid_within": 0.02}])
def test_false_alarms_are_five_in_a_hundred(sizes, every, cohort):
    assert 0.025 < false_alarms(sizes, every[: len(sizes)], runs=600, **cohort)[0] < 0.075
