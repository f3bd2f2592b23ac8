"""Competing ends of a stage, against a reference library and invented stages with known ends."""

import numpy as np
import pytest
from lifelines import AalenJohansenFitter, KaplanMeierFitter
from statsmodels.stats.proportion import proportion_confint

from rearlog.analysis.statistics.cumulative_incidence import (
    COMPLETED,
    DIED,
    cumulative_incidence,
    share_with_limits,
    stage_mortality,
)


def invented(rng, n, lost, q=0.3):
    """Stages of whole days: a death or a completion, unless the animal was lost before."""
    ends = np.where(rng.random(n) < q, DIED, COMPLETED)
    when = np.where(ends == DIED, rng.weibull(1.2, n) * 4, rng.gamma(25, 0.3, n))
    gone = rng.exponential(-when.mean() / np.log(1 - lost), n) if lost else np.full(n, np.inf)
    # the check that finds the end, and the last look before a loss
    return (
        np.where(gone < when, np.floor(gone), np.ceil(when)),
        np.where(gone < when, 0, ends),
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("end", [1, 2, 3])
def test_share_and_variance_are_those_of_lifelines(seed, end):
    """The reference takes no ties, so that all times differ."""
    rng = np.random.default_rng(seed)
    n = 20 + 30 * seed
    times, causes = rng.weibull(1.5, n) * 10, rng.integers(0, 4, n)
    result = cumulative_incidence(times, causes, 3)
    reference = AalenJohansenFitter().fit(times, causes, event_of_interest=end)

    assert result.times.tolist() == reference.timeline.tolist()
    shares = reference.cumulative_density_.to_numpy()[:, 0]
    assert result.incidence[:, end - 1] == pytest.approx(shares)
    known = slice(1, -1)  # the reference divides by 0 where the last one ends
    assert result.variance[known, end - 1] == pytest.approx(reference.variance_.to_numpy()[known])


def test_with_one_end_it_is_one_less_the_survival_of_kaplan_and_meier():
    rng = np.random.default_rng(3)
    days, died = rng.integers(1, 12, 60), rng.random(60) < 0.6
    result = cumulative_incidence(days, died.astype(int), 1)
    reference = KaplanMeierFitter().fit(days, died)
    survival = reference.survival_function_.to_numpy()[:, 0]

    assert result.waiting == pytest.approx(survival)
    assert result.incidence[:, 0] == pytest.approx(1 - survival)


def test_where_all_were_followed_it_is_a_share_of_all_with_the_variance_of_one():
    """By hand: p(1 − p)/n at every time, ties or not, the first of all times too."""
    rng = np.random.default_rng(8)
    times, causes = rng.integers(0, 9, 50), rng.integers(1, 3, 50)
    result = cumulative_incidence(times, causes, 2)

    for end in (1, 2):
        share = np.array([((causes == end) & (times <= at)).mean() for at in result.times])
        assert result.incidence[:, end - 1] == pytest.approx(share)
        assert result.variance[:, end - 1] == pytest.approx(share * (1 - share) / 50)


def test_three_dead_while_most_are_still_in_the_stage_is_no_certain_death():
    """By hand: 3 of 24 have died, 21 wait."""
    result = stage_mortality([2, 3, 3, *[4] * 21], [DIED] * 3 + [0] * 21)

    assert result.died.estimate == pytest.approx(3 / 24)
    assert result.waiting == pytest.approx(21 / 24)
    assert result.completed.estimate == 0


def test_a_stage_without_losses_has_the_share_and_the_limits_of_wilson():
    result = stage_mortality([1, 2, *[5] * 18], [DIED] * 2 + [COMPLETED] * 18)
    limits = proportion_confint(2, 20, method="wilson")  # statsmodels

    assert (result.died.estimate, result.waiting) == (0.1, 0)
    assert (result.died.low, result.died.high) == pytest.approx(limits)


@pytest.mark.parametrize("deaths", [0, 12])
def test_none_or_all_of_them_leave_room_for_others(deaths):
    result = stage_mortality([3] * 12, [DIED] * deaths + [COMPLETED] * (12 - deaths))
    limits = proportion_confint(deaths, 12, method="wilson")

    assert (result.died.low, result.died.high) == pytest.approx(limits)


def test_where_nothing_has_ended_nothing_is_known():
    """By hand: Wilson's upper limit of none of one is z²/(1 + z²)."""
    result = stage_mortality([4, 4, 5], [0, 0, 0])

    assert result.waiting == 1
    assert result.died.high == pytest.approx(0.7935, abs=1e-4)


def test_the_last_that_were_lost_leave_the_end_open():
    result = stage_mortality([2, 5, 6, 7], [DIED, COMPLETED, COMPLETED, 0])

    assert result.waiting == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("times", "causes"),
    [
        ([], []),
        ([1, 2], [1]),
        ([-1], [1]),
        ([np.nan], [0]),
        ([np.inf], [0]),
        ([[1]], [[1]]),
        ([1], [3]),
        ([1], [-1]),
    ],
)
def test_what_does_not_fit_together_is_refused(times, causes):
    with pytest.raises(ValueError, match="times"):
        cumulative_incidence(times, causes, 2)
    with pytest.raises(ValueError, match="limits"):
        share_with_limits(1.2, 0.1, 4)


def trial(n, lost, runs, seed=1, q=0.3):
    """The bias of the mortality, that of deaths over known ends, and the cover of the limits."""
    rng = np.random.default_rng(seed)
    found, naive, inside = [], [], 0
    for _ in range(runs):
        times, causes = invented(rng, n, lost, q)
        result = stage_mortality(times, causes)
        died, known = (causes == DIED).sum(), (causes > 0).sum()
        found.append(result.died.estimate)
        naive.append(died / max(known, 1))
        inside += result.died.low <= q <= 1 - result.completed.low
    return np.mean(found) - q, np.mean(naive) - q, inside / runs


def test_thirty_percent_of_losses_do_not_bias_the_mortality():
    """Deaths come early, completions late: of the known ends too many are deaths."""
    bias, naive, _ = trial(60, 0.3, 400)

    assert abs(bias) < 0.01
    assert naive > 0.015


@pytest.mark.slow
@pytest.mark.parametrize("n", [12, 24, 60, 200])
@pytest.mark.parametrize("q", [0.05, 0.3, 0.6])
def test_bias_and_cover_with_thirty_percent_of_losses(n, q):
    bias, _, cover = trial(n, 0.3, 1000, q=q)

    assert abs(bias) < 0.01
    assert 0.925 < cover < 0.985
