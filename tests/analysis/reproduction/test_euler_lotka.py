"""r, λ, T and Tc, beside a root finder and the eigenvalues of Leslie matrices."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from rearlog.analysis.reproduction.euler_lotka import EggAge, generation_times, intrinsic_rate

SCHEDULES = st.lists(st.floats(0, 200) | st.just(0.0), min_size=1, max_size=40).filter(
    lambda each: sum(each) > 1e-3
)


def leslie(born: np.ndarray) -> np.ndarray:
    """The matrix of a population in which nobody dies before the last age and φ are laid then:
    counted at whole ages, from 0 on, eggs of age a being laid by those that become a."""
    matrix = np.diag(np.ones(len(born) - 1), -1)
    matrix[0] = born
    return matrix


def dominant(matrix: np.ndarray) -> float:
    return float(np.max(np.linalg.eigvals(matrix).real))


@given(SCHEDULES)
@settings(max_examples=60, deadline=None)
def test_r_is_the_root_that_a_bracketing_search_finds(laid: list[float]) -> None:
    born, ages = np.array([laid]), np.arange(len(laid), dtype=np.float64) + 0.5
    r = float(intrinsic_rate(born, ages)[0])

    def off(rate: float) -> float:
        terms = [a * -rate + math.log(n) for a, n in zip(ages, laid, strict=True) if n > 0]
        return math.log(math.fsum(math.exp(each - max(terms)) for each in terms)) + max(terms)

    assert r == pytest.approx(brentq(off, -60, 60, xtol=1e-12), rel=1e-9, abs=1e-9)


@given(SCHEDULES, st.floats(1.01, 5))
@settings(max_examples=40, deadline=None)
def test_more_eggs_or_earlier_ones_make_it_grow_faster(laid: list[float], times: float) -> None:
    ages = np.arange(len(laid), dtype=np.float64) + 1.0
    r, more = intrinsic_rate(np.array([laid, [times * each for each in laid]]), ages)
    assert more > r
    assert intrinsic_rate(np.array([laid]), ages * 2)[0] == pytest.approx(r / 2, rel=1e-9, abs=1e-9)


def test_the_eigenvalue_of_a_leslie_matrix_is_lambda() -> None:
    laid = np.array([0.0, 0.0, 3.1, 8.2, 4.4, 0.7])
    by_whole_ages = intrinsic_rate(laid[None], np.arange(1.0, 7.0))[0]
    assert math.exp(by_whole_ages) == pytest.approx(dominant(leslie(laid)), rel=1e-12)
    halves = np.zeros(12)
    halves[0::2] = laid  # the ages 0.5, 1.5 … in steps of half a day, from 0.5 on
    by_middles = intrinsic_rate(laid[None], np.arange(6, dtype=np.float64) + 0.5)[0]
    assert math.exp(by_middles / 2) == pytest.approx(dominant(leslie(halves)), rel=1e-12)


def test_without_eggs_there_is_no_rate_and_no_generation() -> None:
    born, ages = np.array([[0.0, 0.0], [0.0, 2.0]]), np.array([1.0, 2.0])
    r = intrinsic_rate(born, ages)
    assert r[0] == -math.inf
    assert r[1] == pytest.approx(math.log(2) / 2)
    generation, cohort = generation_times(born, ages, r)
    assert np.isnan([generation[0], cohort[0]]).all()
    assert (generation[1], cohort[1]) == pytest.approx((2.0, 2.0))
    assert intrinsic_rate(born[:1], ages).tolist() == [-math.inf]


def test_where_one_egg_follows_each_both_generation_times_are_one() -> None:
    born, ages = np.array([[0.25, 0.5, 0.25]]), np.array([2.0, 3.0, 6.0])
    r = intrinsic_rate(born, ages)
    assert r[0] == pytest.approx(0, abs=1e-12)
    generation, cohort = generation_times(born, ages, r)
    assert cohort[0] == pytest.approx(3.5)
    assert generation[0] == cohort[0]
    nearly = born * 1.001
    generation, cohort = generation_times(nearly, ages, intrinsic_rate(nearly, ages))
    assert generation[0] != cohort[0]
    assert generation[0] == pytest.approx(cohort[0], rel=1e-3)


def test_eggs_at_no_age_are_refused_and_no_eggs_there_are_not() -> None:
    with pytest.raises(ValueError, match="age 0"):
        intrinsic_rate(np.array([[1.0, 1.0]]), np.array([0.0, 1.0]))
    assert np.isfinite(intrinsic_rate(np.array([[0.0, 1.0]]), np.array([0.0, 1.0]))[0])


def test_eggs_count_in_the_middle_of_their_day_or_at_its_start() -> None:
    assert (EggAge.MIDDLE.days, EggAge.START.days) == (0.5, 0.0)
    assert [each.value for each in EggAge] == ["x + 0.5", "x"]
