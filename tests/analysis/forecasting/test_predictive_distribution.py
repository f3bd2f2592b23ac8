"""Reference: draws of the model, those kept that agree with what was seen."""

from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.cohort_pace import CohortPace
from rearlog.analysis.forecasting.future_temperature import temperature_course
from rearlog.analysis.forecasting.individual_state import individual_states
from rearlog.analysis.forecasting.phases import phases
from rearlog.analysis.forecasting.predictive_distribution import predict
from rearlog.analysis.heat.weather import Weather
from rearlog.analysis.stages.profile_values import USUAL_PACE
from tests.analysis.invented_moth import eggs, moth, number, stage
from tests.analysis.invented_passages import MEAN, PHASES, SD, SIZE, exact, seen

FACTORS = 1 + 0.06 * np.eye(SIZE)[2]
COVARIANCE = np.full((SIZE, SIZE), 0.04**2) + 0.02**2 * np.eye(SIZE)
PACE = CohortPace(FACTORS, COVARIANCE, np.zeros(SIZE, dtype=np.int64))
P = np.array([0.05, 0.5, 0.95])
DRAWS = 200_000

_START = eggs(1, celsius=20.0)
STEADY = temperature_course(_START, _START.cohort.started + timedelta(days=12))


def foretold(*bounds, found=PHASES, pace=PACE, temperatures=STEADY):
    individuals = seen(bounds)
    stands = individual_states(individuals, found, pace.mean)
    return predict(individuals, found, pace, stands, temperatures)


def draws(last_look, entry):
    """Amounts at which L2 (the third phase), L3 and the pupa end, entered L2 at an amount."""
    rng = np.random.default_rng(5)
    factors = rng.multivariate_normal(FACTORS, COVARIANCE, DRAWS)
    pace, own = rng.standard_normal((DRAWS, 1)), rng.standard_normal((DRAWS, SIZE))
    spent = MEAN * factors + SD * (np.sqrt(USUAL_PACE) * pace + np.sqrt(1 - USUAL_PACE) * own)
    low, high = entry
    begun = rng.uniform(low, high, (DRAWS, 1))
    ends = begun + np.cumsum(spent[:, 2:], axis=1)
    return ends[ends[:, 0] > last_look]


@pytest.mark.parametrize("last_look", [110.0, 136.0, 146.0])
@pytest.mark.parametrize("entry", [(100.0, 100.0), (100.0, 112.0)])
def test_windows_are_those_of_draws_that_agree_with_the_last_look(last_look, entry):
    """At 146 it is late: its later stages are slower than average too."""
    inside = seen([exact(100, last_look=last_look)])
    late = replace(
        inside,
        inside=np.roll(inside.inside, 2, axis=1),
        entry_low=np.full((1, SIZE), entry[0]),
        entry_high=np.full((1, SIZE), entry[1]),
        end_low=np.full((1, SIZE), last_look),
        end_high=np.full((1, SIZE), np.inf),
        now=np.array([2]),
    )
    told = predict(late, PHASES, PACE, individual_states(late, PHASES, FACTORS), STEADY)
    kept = draws(last_look, entry)
    found = told.quantile(P[:, None, None])[:, 0, 3:]
    scale = kept.std(axis=0)
    assert len(kept) > 1000
    assert (np.abs(found - np.quantile(kept, P, axis=0)) / scale).max() < 0.12
    assert np.isnan(told.mean[0, :3]).all()
    assert told.next_stage[0] == 3


def test_a_slow_individual_stays_slow():
    slow, fast = exact(0, 75.0, last_look=80), exact(0, 50.0, last_look=55)
    told = foretold(slow, fast)
    still = told.mean[:, -1] - np.array([75.0, 50.0])
    assert still[0] > still[1] + 5


def test_what_all_share_is_a_part_of_the_spread():
    told = foretold(exact(0, last_look=10))
    needs = MEAN.copy()
    assert told.common_sd[0, -1] == pytest.approx(np.sqrt(needs @ COVARIANCE @ needs))
    assert told.common_sd[0, -1] < told.sd[0, -1]


def test_weather_widens_what_is_far_and_all_alike():
    days = Weather(*np.array([[1.0], [0.6], [1.5], [0.0], [0.0]]))
    weather = replace(STEADY, weather=days)
    without, told = (
        foretold(exact(0, last_look=140)),
        foretold(exact(0, last_look=140), temperatures=weather),
    )
    added = told.sd**2 - without.sd**2
    assert added[0, 2] < added[0, 5]
    assert told.common_sd**2 - without.common_sd**2 == pytest.approx(added, nan_ok=True)


def test_nothing_is_foretold_behind_a_stage_that_is_not_known():
    found = phases(moth(stage("L3", degree_days=None)), "degree-days", 12.0)
    told = foretold(exact(0, 60.0, last_look=70), found=found)
    assert (~np.isnan(told.mean[0])).tolist() == [False, False, True, True, False, False]


def test_who_is_in_a_stage_that_is_not_known_has_a_next_event_without_a_date():
    found = phases(moth(stage("L1", degree_days=None)), "degree-days", 12.0)
    told = foretold(exact(0, 60.0, last_look=70), found=found)
    assert told.next_stage[0] == 2
    assert np.isnan(told.mean[0]).all()


def test_a_stage_that_may_be_passed_over_counts_only_for_who_is_in_it():
    found = phases(moth(stage("L3", optional=True)), "degree-days", 12.0)
    in_it = exact(0, 60.0, 105.0, 140.0, last_look=150)
    told = foretold(exact(0, 60.0, 105.0, last_look=110), in_it, found=found)
    assert told.next_stage.tolist() == [4, 4]
    assert np.isnan(told.mean[:, 3]).all()
    assert told.mean[1, 4] - told.mean[0, 4] > 40


def test_an_entry_that_is_not_known_may_be_anywhere_in_the_stage():
    found = phases(moth(stage("egg", degree_days=number(60.0, sd=0.1))), "degree-days", 12.0)
    individuals = replace(seen([[(np.nan, np.nan), (50.0, np.inf)]]), entered=np.array([50.0]))
    sure = CohortPace(np.ones(SIZE), 0 * COVARIANCE, np.zeros(SIZE, dtype=np.int64))
    stands = individual_states(individuals, found, sure.mean)
    told = predict(individuals, found, sure, stands, STEADY)
    assert told.mean[0, 1] == pytest.approx(50 + 60 / 2)
    assert told.sd[0, 1] == pytest.approx(60 / np.sqrt(12), rel=0.01)


def test_two_stages_that_were_passed_tell_of_the_others_as_normal_variables_do():
    """By hand, nothing being shared between individuals: what is told of the pace p of an
    individual by x SD in each of n stages, x = √ρ·p + √(1 − ρ)·own, p being N(0, 1) before."""
    off = np.array([1.5, 0.5])
    begun = np.cumsum([0.0, *(MEAN + 0 * SD)[:2] + off * SD[:2]])
    sure = CohortPace(np.ones(SIZE), 0 * COVARIANCE, np.zeros(SIZE, dtype=np.int64))
    told = foretold(exact(*begun, last_look=begun[-1]), pace=sure)
    rho = USUAL_PACE
    left = 1 / (1 + len(off) * rho / (1 - rho))
    pace = left * np.sqrt(rho) / (1 - rho) * off.sum()
    for place in range(3, SIZE + 1):
        ahead = slice(2, place)
        mean = begun[-1] + MEAN[ahead].sum() + np.sqrt(rho) * pace * SD[ahead].sum()
        variance = rho * left * SD[ahead].sum() ** 2 + (1 - rho) * (SD[ahead] ** 2).sum()
        assert told.mean[0, place] == pytest.approx(mean, rel=1e-3)
        assert told.sd[0, place] == pytest.approx(np.sqrt(variance), rel=1e-3)
