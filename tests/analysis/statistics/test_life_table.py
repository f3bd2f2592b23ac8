"""The life table, limits of proportions and killing power, against identities and references."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from numpy.typing import ArrayLike
from scipy.stats import binomtest

from rearlog.analysis.statistics.life_table import day_of_age, k_value, life_table, wilson


def test_a_death_found_on_day_x_falls_in_the_interval_before_it() -> None:
    rows = life_table([1, 3, 3, 4], [True] * 4)
    assert [(row.x, row.n, row.d) for row in rows] == [(0, 4, 1), (1, 3, 0), (2, 3, 2), (3, 1, 1)]
    assert [row.l for row in rows] == [1, 0.75, 0.75, 0.25]
    assert [row.q for row in rows] == pytest.approx([1 / 4, 0, 2 / 3, 1])


@given(st.lists(st.integers(1, 60), min_size=1, max_size=80))
@settings(max_examples=100)
def test_expectation_of_life_is_the_mean_age_at_death(ages: list[int]) -> None:
    # Each is found at the end of the day in whose middle it dies on average.
    for row in life_table(ages, [True] * len(ages)):
        older = [age for age in ages if age > row.x]
        assert row.n == len(older)
        assert row.l == pytest.approx(len(older) / len(ages))
        assert row.e == pytest.approx(np.mean(older) - row.x - 0.5)


def test_withdrawals_count_half_in_the_interval_that_follows() -> None:
    # Of 10, two are last seen alive on day 1; of the other eight, four are dead on day 2.
    rows = life_table([1, 1, 2, 2, 2, 2, 3, 3, 3, 3], [False] * 2 + [True] * 8)
    assert [(row.n, row.d) for row in rows] == [(10, 0), (10, 4), (4, 4)]
    assert rows[1].q == pytest.approx(4 / 9)
    assert rows[2].l == pytest.approx(5 / 9)
    lived = [(1 + 1) / 2, (1 + 5 / 9) / 2, (5 / 9 + 0) / 2]
    assert [row.L for row in rows] == pytest.approx(lived)
    assert [row.T for row in rows] == pytest.approx([sum(lived[x:]) for x in range(3)])


@pytest.mark.parametrize("seed", range(4))
def test_survivorship_lies_between_the_curves_with_early_and_with_late_withdrawal(
    seed: int,
) -> None:
    generator = np.random.default_rng(seed)
    ages, died = generator.integers(1, 25, 200), generator.random(200) < 0.6
    early = KaplanMeierFitter().fit(np.where(died, ages, ages + 0.01), died)
    late = KaplanMeierFitter().fit(np.where(died, ages, ages + 1), died)
    rows = life_table(ages, died)
    x = [row.x for row in rows]
    survivorship = np.array([row.l for row in rows])
    assert (early.predict(x).to_numpy() - 1e-12 <= survivorship).all()
    assert (survivorship <= late.predict(x).to_numpy() + 1e-12).all()


def test_nothing_is_known_beyond_the_day_on_which_the_last_were_taken_out_alive() -> None:
    rows = life_table([2, 3, 3], [True, False, False])
    last = rows[-1]
    assert (last.x, last.n, last.d) == (3, 2, 0)
    assert last.l == pytest.approx(2 / 3)
    assert (last.q, last.L, last.T, last.e) == (None, None, None, None)
    assert [row.T for row in rows[:-1]] == pytest.approx([1 + 5 / 6 + 2 / 3, 5 / 6 + 2 / 3, 2 / 3])


def test_a_death_on_the_day_of_the_start_is_counted_with_the_first() -> None:
    rows = life_table([0, 1, 2], [True, True, True])
    assert [(row.x, row.n, row.d) for row in rows] == [(0, 3, 2), (1, 1, 1)]


def test_all_withdrawn_at_the_start() -> None:
    (row,) = life_table([0, 0], [False, False])
    assert (row.x, row.n, row.l, row.d, row.q) == (0, 2, 1, 0, None)


def test_the_columns_are_plain_numbers() -> None:
    row = life_table(np.array([1, 2]), np.array([True, False]))[0]
    assert {type(value) for value in (row.x, row.n, row.d)} == {int}
    assert {type(value) for value in (row.l, row.q, row.L, row.T, row.e)} == {float}


@pytest.mark.parametrize(
    ("ages", "died"),
    [
        ([], []),
        ([1], [True, False]),
        ([1.5], [True]),
        ([-1], [True]),
        ([math.nan], [True]),
        ([math.inf], [True]),
        ([[1]], [[True]]),
    ],
)
def test_what_is_no_sample(ages: ArrayLike, died: ArrayLike) -> None:
    with pytest.raises(ValueError, match="ages"):
        life_table(ages, died)


@pytest.mark.parametrize(
    ("successes", "n"), [(0, 10), (1, 10), (7, 24), (12, 24), (24, 24), (1, 1)]
)
def test_wilson_limits_are_those_of_scipy(successes: int, n: int) -> None:
    reference = binomtest(successes, n).proportion_ci(0.95, method="wilson")
    assert wilson(successes, n) == pytest.approx((reference.low, reference.high))


def test_wilson_limits_reach_the_ends_exactly() -> None:
    assert {(wilson(0, n) or (None,))[0] for n in range(1, 99)} == {0.0}
    assert {(wilson(n, n) or (None,))[-1] for n in range(1, 99)} == {1.0}
    assert wilson(0, 0) is None


@pytest.mark.parametrize(("successes", "n"), [(3, 2), (-1, 2)])
def test_what_is_no_proportion(successes: int, n: int) -> None:
    with pytest.raises(ValueError, match="no limits"):
        wilson(successes, n)


def test_killing_power_is_in_powers_of_ten_and_adds_up() -> None:
    assert k_value(0.9) == pytest.approx(1)
    assert k_value(0) == 0
    assert k_value(1) is None
    both = 1 - (1 - 0.3) * (1 - 0.6)
    assert (k_value(0.3) or 0) + (k_value(0.6) or 0) == pytest.approx(k_value(both))


@pytest.mark.parametrize("q", [-0.1, 1.1, math.nan])
def test_what_is_no_mortality(q: float) -> None:
    with pytest.raises(ValueError, match="mortality"):
        k_value(q)


def test_looks_of_one_round_are_of_one_day_whatever_the_minute() -> None:
    """By hand: a quarter of a day after x is still x; half a day is the next day's."""
    assert day_of_age([0, 0.2, 0.3, 3.99, 4.02, 4.25, 4.26]).tolist() == [0, 0, 1, 4, 4, 4, 5]
    assert day_of_age([0.48, 0.5, 1.52, 2.5]).tolist() == [1, 1, 2, 3]
