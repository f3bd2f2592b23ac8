"""Published life tables, whose r, R0 and T are printed with them."""

import numpy as np
import pytest

from rearlog.analysis.reproduction.estimates import Measure, population
from rearlog.analysis.reproduction.euler_lotka import EggAge, generation_times, intrinsic_rate
from rearlog.analysis.reproduction.schedules import ByAge

PIVOTAL = np.arange(4.5, 19.0)
ALIVE = [0.87, 0.83, 0.81, 0.80, 0.79, 0.77, 0.74, 0.66, 0.59, 0.52, 0.45, 0.36, 0.29, 0.25, 0.19]
DAUGHTERS = [20, 23, 15, 12.5, 12.5, 14, 12.5, 14.5, 11, 9.5, 2.5, 2.5, 2.5, 4, 1]


def birch_1948() -> ByAge:
    """Calandra oryzae at 29 °C, by weeks (Birch 1948, J. Anim. Ecol. 17:15–26; from memory)."""
    return ByAge(
        alive=np.array([[*[0.9] * 4, *ALIVE, 0.0]]), laid=np.array([[*[0.0] * 4, *DAUGHTERS]])
    )


def test_birch_finds_what_he_printed_of_the_rice_weevil() -> None:
    found = population(birch_1948(), EggAge.MIDDLE)
    assert found[Measure.R0][0] == pytest.approx(113.56, abs=0.1)  # printed; summed anew 113.485
    assert found[Measure.R0][0] == pytest.approx(113.485)
    assert found[Measure.RATE][0] == pytest.approx(0.76, abs=0.005)  # printed, a week
    assert found[Measure.RATE][0] == pytest.approx(0.76198, abs=5e-6)  # computed
    assert found[Measure.GENERATION][0] == pytest.approx(6.2, abs=0.05)  # printed, weeks
    assert found[Measure.FINITE_RATE][0] == pytest.approx(2.14, abs=0.005)  # printed, a week
    assert found[Measure.GROSS_RATE][0] == pytest.approx(157.0)
    assert found[Measure.DOUBLING][0] == pytest.approx(0.909665, abs=5e-6)  # ln 2 / 0.76198


def test_a_textbooks_annual_animal() -> None:
    """Gotelli 1995, A Primer of Ecology, ch. 3: l 1, 0.8, 0.4, 0.1; b 0, 2, 3, 1 (from memory)."""
    born = np.array([[0.0, 0.8 * 2, 0.4 * 3, 0.1 * 1]])
    ages = np.arange(4.0)
    assert born.sum() == pytest.approx(2.9)
    r = intrinsic_rate(born, ages)
    assert r[0] == pytest.approx(0.776, abs=0.0005)
    generation, cohort = generation_times(born, ages, r)
    assert cohort[0] == pytest.approx(1.483, abs=0.0005)
    assert np.log(2.9) / cohort[0] == pytest.approx(0.718, abs=0.0005)
    assert generation[0] == pytest.approx(np.log(2.9) / r[0])
