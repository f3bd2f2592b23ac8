"""Reference: lives of the model with a spread that is chosen, and the likelihood on a grid."""

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import norm

from rearlog.analysis.forecasting.cohort_pace import COHORT_CV, LEAST_LIKELY, NEVER, PHASE_CV, SLIPS
from rearlog.analysis.forecasting.cohort_spread import _STEPS, SPREAD_SD, Spread, cohort_spread
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.stages.profile_values import USUAL_PACE
from tests.analysis.invented_forecasts import observed, on
from tests.analysis.invented_moth import eggs
from tests.analysis.invented_passages import MEAN, PHASES, SD, SIZE, exact, seen


def lives(n, factor, seed, every=5.0):
    """n lives that differ `factor` times as much as the profile says, followed to the end."""
    rng = np.random.default_rng(seed)
    pace, own = rng.standard_normal((n, 1)), rng.standard_normal((n, SIZE))
    shared = np.sqrt(USUAL_PACE) * pace + np.sqrt(1 - USUAL_PACE) * own
    high = np.ceil(np.cumsum(MEAN + factor * SD * shared, axis=1) / every) * every
    return seen([[(0.0, 0.0), *((each - every, each) for each in row)] for row in high.tolist()])


@pytest.mark.parametrize("factor", [0.6, 1.0, 1.6])
def test_the_spread_of_many_is_found(factor):
    found = [cohort_spread(lives(60, factor, seed), PHASES) for seed in range(12)]
    assert np.mean([each.factor for each in found]) == pytest.approx(factor, rel=0.12)
    off = np.array([each.mean - np.log(factor) for each in found])
    assert off.std() == pytest.approx(np.sqrt(np.mean([each.variance for each in found])), rel=0.6)


def test_nobody_tells_nothing_of_the_spread():
    told = cohort_spread(seen([]), PHASES)
    assert (told.mean, told.variance) == pytest.approx((0.0, SPREAD_SD**2))


def test_what_was_expected_weighs_less_the_more_are_seen():
    uneven = Spread(np.log(1.6), 0.05)
    few, many = (cohort_spread(lives(n, 1.0, 3), PHASES, uneven).mean for n in (2, 80))
    assert 0 < abs(many) < few < uneven.mean


def test_one_slip_of_the_pen_makes_no_cohort_uneven():
    rows = [exact(0, 60.0 + step, last_look=95) for step in range(-10, 11)]
    slip = [exact(0, 400.0, last_look=410)]
    with_it, without = (cohort_spread(seen(each), PHASES).mean for each in (rows + slip, rows))
    assert with_it - without < 0.1


SIX = eggs(6, celsius=20.0)
LOOKS = [(str(code), day, "egg") for code in range(1, 7) for day in (1, 2)]
AFTER = [(str(code), 3, "egg") for code in range(1, 7)]


@pytest.mark.parametrize("after", [[], AFTER], ids=["the last look", "contradicted"])
@pytest.mark.parametrize("said", ["L2", "L3", "pupa", "adult"])
def test_a_look_in_doubt_teaches_nothing_of_the_spread(said, after):
    """One pupa on day 2 in a cohort of six eggs once made the learned spread three times as wide.

    Without the slip: five of six are left to tell.
    """
    typed = [("3", 2, said) if each == ("3", 2, "egg") else each for each in LOOKS]
    day = 3 if after else 2
    with_it = forecast_model(observed(SIX, *typed, *after), on(day))
    without = forecast_model(observed(SIX, *LOOKS, *after), on(day))
    assert {each.individual for each in with_it.in_doubt} == {"3"}
    assert with_it.learned.factor == pytest.approx(without.learned.factor, rel=0.03)


def test_a_stage_passed_over_between_two_looks_teaches_where_there_was_time_for_it():
    """Nobody looked for nine days: L1, of 4 days, was passed over and is in no doubt."""
    looks = [(str(code), 9, "L2" if code < 3 else "L1") for code in range(1, 7)]
    told = forecast_model(observed(SIX, *looks), on(9))
    assert told.history.questionable
    assert told.in_doubt == ()
    fewer = forecast_model(observed(SIX, *looks[2:]), on(9))
    assert told.learned.mean != fewer.learned.mean


def test_the_spread_of_hatches_is_the_mode_of_its_posterior():
    """By adding up over the cohort's factor and the spread on a grid, with scipy's normal."""
    low = np.array([44.0, 50.0, 54.0, 60.0, 62.0, 70.0, 73.0, 80.0])
    rows = [[(0.0, 0.0), (each, each + 4), (each + 4, np.inf)] for each in low.tolist()]
    factor, spread = np.linspace(0.6, 1.5, 901), np.linspace(-1.2, 1.6, 281)
    t, s = np.meshgrid(factor, spread, indexing="ij")
    log = norm.logpdf(t, 1, np.hypot(COHORT_CV, PHASE_CV)) + norm.logpdf(s, 0, SPREAD_SD)
    for each in low:
        sd = SD[0] * np.exp(s)
        near, far = (
            norm.cdf(each + 4, MEAN[0] * t, sd * k) - norm.cdf(each, MEAN[0] * t, sd * k)
            for k in (1, SLIPS)
        )
        log += np.log(np.maximum((1 - NEVER) * near + NEVER * far, LEAST_LIKELY))
    of_spread = np.exp(log - log.max()).sum(axis=0)
    best = spread[of_spread.argmax()]
    found = cohort_spread(seen(rows), PHASES)
    assert found.mean == pytest.approx(best, abs=0.06)
    mean = (of_spread * spread).sum() / of_spread.sum()
    variance = (of_spread * (spread - mean) ** 2).sum() / of_spread.sum()
    assert found.variance == pytest.approx(variance, rel=0.35)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_no_search_goes_farther_than_two_steps_at_once(
    monkeypatch: pytest.MonkeyPatch, sign: float
) -> None:
    """Where a likelihood rises without end, so far that nothing holds it."""

    def rising(*asked: object) -> npt.NDArray[np.float64]:
        return sign * 1e6 * np.log(np.asarray(asked[-1], dtype=float))

    monkeypatch.setattr("rearlog.analysis.forecasting.cohort_spread.log_likelihoods", rising)
    found = cohort_spread(seen([exact(0, last_look=10)]), PHASES)
    assert found.mean == pytest.approx(sign * 2 * sum(_STEPS))
    assert found.variance == pytest.approx(SPREAD_SD**2)
