"""The cohort's factors and the individuals' pace, beside exact conditioning and grids."""

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.integrate import quad
from scipy.stats import norm

from rearlog.analysis.forecasting.cohort_pace import (
    COHORT_CV,
    NEVER,
    PHASE_CV,
    SLIPS,
    cohort_pace,
    log_likelihoods,
)
from rearlog.analysis.forecasting.individual_state import end_of, individual_states
from rearlog.analysis.stages.profile_values import USUAL_PACE
from tests.analysis.invented_moth import MEAN_DD, SD_DD
from tests.analysis.invented_passages import MEAN, PHASES, SD, SIZE, exact, seen

ONES = np.ones(SIZE)


def test_pace_and_entry_follow_from_exact_passages():
    """Reference: conditioning of the joint normal distribution of pace and spans, by numpy."""
    spans = np.array([66.0, 40.0, 39.0])
    told = individual_states(seen([exact(0, *np.cumsum(spans), last_look=150)]), PHASES, ONES)
    known = slice(0, 3)
    with_pace = np.sqrt(USUAL_PACE) * SD[known]
    covariance = np.outer(with_pace, with_pace) + np.diag((1 - USUAL_PACE) * SD[known] ** 2)
    weights = np.linalg.solve(covariance, with_pace)
    assert told.pace[0] == pytest.approx(weights @ (spans - MEAN[known]), abs=1e-6)
    assert told.pace_variance[0] == pytest.approx(1 - weights @ with_pace, abs=1e-6)
    assert (told.entry[0], told.entry_variance[0]) == pytest.approx((spans.sum(), 0.0))


def test_an_interval_tells_less_than_the_moment():
    sure = individual_states(seen([exact(0, 70.0, last_look=80)]), PHASES, ONES)
    unsure = individual_states(seen([[(0, 0), (60, 80), (80, np.inf)]]), PHASES, ONES)
    assert 0 < unsure.pace[0] < sure.pace[0]
    assert sure.pace_variance[0] < unsure.pace_variance[0] < 1


def test_an_interval_is_narrowed_by_what_is_expected():
    """Reference: 400,000 draws of the model, those kept whose egg ended in the interval."""
    rng = np.random.default_rng(2)
    pace, own = rng.standard_normal((2, 400_000))
    end = MEAN[0] + SD[0] * (np.sqrt(USUAL_PACE) * pace + np.sqrt(1 - USUAL_PACE) * own)
    kept = (end > 62) & (end < 85)
    told = individual_states(seen([[(0, 0), (62, 85), (85, np.inf)]]), PHASES, ONES)
    assert told.entry[0] == pytest.approx(end[kept].mean(), abs=0.05)
    assert told.entry_variance[0] == pytest.approx(end[kept].var(), rel=0.02)
    assert told.pace[0] == pytest.approx(pace[kept].mean(), abs=0.01)
    assert told.covariance[0] == pytest.approx(np.cov(pace[kept], end[kept])[0, 1], rel=0.03)


def test_an_entry_that_is_not_known_tells_nothing_of_the_pace():
    bounds = [[(np.nan, np.nan), (40, 60), (60, np.inf)]]
    unknown = seen(bounds)
    entered = replace(unknown, entered=np.array([35.0]))
    told = individual_states(entered, PHASES, ONES)
    assert (told.pace[0], told.pace_variance[0]) == (0.0, 1.0)
    assert 40 < told.entry[0] < 60
    assert cohort_pace(entered, PHASES).mean == pytest.approx(ONES)


def cohort(n, factors, seed=3, every=15.0, until=400.0):
    """n lives of the model, looked at whenever another amount has come, until the last look."""
    rng = np.random.default_rng(seed)
    pace, own = rng.standard_normal((n, 1)), rng.standard_normal((n, SIZE))
    shared = np.sqrt(USUAL_PACE) * pace + np.sqrt(1 - USUAL_PACE) * own
    laid = rng.uniform(-15, 0, (n, 1))
    ends = laid + np.cumsum(MEAN * factors + SD * shared, axis=1)
    found = np.ceil(ends / every) * every
    last = np.floor(until / every) * every
    rows = []
    for row in range(n):
        highs = found[row][found[row] <= last].tolist()
        still = [] if len(highs) == SIZE else [(last, np.inf)]
        rows.append([(laid[row, 0],) * 2, *((high - every, high) for high in highs), *still])
    return seen(rows)


def test_the_factor_of_a_phase_is_the_mode_of_its_posterior():
    """Reference: the posterior of the egg's factor on a grid, with scipy's normal distribution."""
    few = cohort(6, 1.1 * ONES, until=68.0, every=5.0)
    grid = np.linspace(0.8, 1.4, 6001)
    spread = np.sqrt(COHORT_CV**2 + PHASE_CV**2)
    log_posterior = norm.logpdf(grid, 1, spread)
    for row in range(6):
        mean = few.entry_low[row, 0] + MEAN[0] * grid
        low, high = few.end_low[row, 0], few.end_high[row, 0]
        there = norm.cdf(high, mean, SD[0]) - norm.cdf(low, mean, SD[0])
        log_posterior += np.log((1 - NEVER) * there + NEVER * np.isinf(high))
    best = log_posterior.argmax()
    curvature = np.gradient(np.gradient(log_posterior, grid), grid)[best]
    told = cohort_pace(few, PHASES)
    assert 0 < few.left[:, 0].sum() < 6  # some have hatched, some have not
    assert told.mean[0] == pytest.approx(grid[best], abs=0.003)
    assert told.covariance[0, 0] == pytest.approx(-1 / curvature, rel=0.1)


def test_how_likely_a_spread_is_has_the_pace_integrated_out():
    """Reference: scipy's adaptive integration over the egg's factor.

    Nobody has been in L1 for long, so that it tells nothing.
    """
    ends = [(63, 68), (66, 71), (68, 73), (69, 74), (71, 76)]
    rows = [[(0, 0), (low, high), (high, np.inf)] for low, high in ends]
    rows += [[(0, 0), (70, np.inf)]] * 2
    prior = np.sqrt(COHORT_CV**2 + PHASE_CV**2)
    told = log_likelihoods(seen(rows), PHASES, None, np.array([0.6, 1.0, 1.8]))
    for found, spread in zip(told, (0.6, 1.0, 1.8), strict=True):

        def joint(factor, spread=spread):
            density = norm.pdf(factor, 1, prior)
            for low, high in [*ends, (70, np.inf), (70, np.inf)]:
                usual, slip = (
                    norm.cdf(high, MEAN[0] * factor, sd) - norm.cdf(low, MEAN[0] * factor, sd)
                    for sd in (SD[0] * spread, SLIPS * SD[0] * spread)
                )
                density *= (1 - NEVER) * usual + NEVER * slip
            return density

        exact_value, _ = quad(joint, 0.5, 1.7, epsabs=0, epsrel=1e-8)
        assert found == pytest.approx(np.log(exact_value), abs=0.05)


@pytest.mark.parametrize(("every", "off"), [(5.0, 0.03), (15.0, 0.03), (45.0, 0.04)])
@pytest.mark.parametrize("until", [100.0, 180.0, 300.0])
def test_the_truth_is_found_even_where_stages_pass_between_two_looks(every, off, until):
    truth = np.array([1.1, 1.05, 0.95, 1.1, 1.05])
    told = cohort_pace(cohort(1500, truth, every=every, until=until), PHASES)
    shown = told.finished > 100
    assert told.mean[shown] == pytest.approx(truth[shown], abs=off)
    assert shown.any()


def test_the_more_have_finished_the_more_it_weighs():
    found = [cohort_pace(cohort(n, 1.15 * ONES, until=80.0), PHASES) for n in (1, 6, 60)]
    off = [abs(each.mean[0] - 1.15) for each in found]
    assert off[0] > off[1] > off[2]
    assert found[0].covariance[0, 0] > found[1].covariance[0, 0] > found[2].covariance[0, 0]


def test_phases_to_come_follow_those_finished_but_not_all_the_way():
    told = cohort_pace(cohort(200, 1.15 * ONES, until=130.0), PHASES)
    pupa = told.mean[4]
    assert 1.05 < pupa < told.mean[0]
    assert PHASE_CV**2 < told.covariance[4, 4] < COHORT_CV**2 + PHASE_CV**2


def test_a_few_that_never_hatch_do_not_make_the_cohort_slow():
    rows = [exact(0, 60.0 + step, last_look=95) for step in range(-10, 11)]
    without = cohort_pace(seen(rows), PHASES).mean
    duds = [[(0, 0), (500, np.inf)]] * 4
    assert cohort_pace(seen(rows + duds), PHASES).mean == pytest.approx(without, abs=0.01)


def test_one_slip_of_the_pen_does_not_move_the_cohort():
    rows = [exact(0, 60.0 + step, last_look=95) for step in range(-10, 11)]
    slip = [exact(0, 400.0, last_look=410)]
    moved = cohort_pace(seen(rows + slip), PHASES).mean - cohort_pace(seen(rows), PHASES).mean
    assert np.abs(moved).max() < 0.03


def test_nobody_tells_nothing():
    told = cohort_pace(seen([]), PHASES)
    assert told.mean == pytest.approx(ONES)
    assert told.finished.tolist() == [0] * SIZE


def test_the_end_of_a_phase_adds_up():
    told = individual_states(seen([exact(0, last_look=10)]), PHASES, ONES)
    mean, variance, with_pace = end_of(told, MEAN_DD["egg"], SD_DD["egg"], 1.1)
    assert mean[0] == pytest.approx(66.0)
    assert variance[0] == pytest.approx(SD_DD["egg"] ** 2)
    assert with_pace[0] == pytest.approx(np.sqrt(USUAL_PACE) * SD_DD["egg"])
