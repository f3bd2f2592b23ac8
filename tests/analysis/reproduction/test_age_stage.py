"""The age-stage table, beside matrices, by hand, and held to what its parts must add up to."""

import math

import numpy as np
import pytest

from rearlog.analysis.reproduction.age_stage import AgeStage, _stable, age_stage
from rearlog.analysis.reproduction.estimates import Measure, population
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.lives_by_age import (
    FEMALE,
    MALE,
    UNKNOWN,
    LivesByAge,
    class_at,
    classes,
)
from rearlog.analysis.reproduction.schedules import unit_sums
from tests.analysis.reproduction.invented_lives import Life, drawn_lives, lives


def table_of(found: LivesByAge, age: EggAge = EggAge.MIDDLE) -> tuple[AgeStage, float]:
    sums = unit_sums(found)
    r = float(population(sums.both_sexes(np.ones((1, sums.units))), age)[Measure.RATE][0])
    return age_stage(found, sums, r, age), r


@pytest.mark.parametrize("age", EggAge)
def test_parts_add_up_where_nobody_is_lost(age: EggAge) -> None:
    found = drawn_lives(70, 4)
    table, r = table_of(found, age)
    assert table.s.sum(axis=1) == pytest.approx(table.l)
    assert (table.s * table.f).sum(axis=1) == pytest.approx(table.l * table.m)
    assert (table.s * table.e_of).sum(axis=1) == pytest.approx(table.l * table.e)
    assert (table.s * table.v_of).sum(axis=1) == pytest.approx(table.l * table.v)
    assert (table.v[0], table.v_of[0, 0]) == pytest.approx((1.0, 1.0))
    assert table.e[0] == pytest.approx(found.until.mean())
    assert table.c.sum() == pytest.approx(1.0)
    assert table.c_of.sum(axis=1) == pytest.approx(table.c)
    assert table.c[5] / table.c[4] == pytest.approx(math.exp(-r) * table.l[5] / table.l[4])
    assert table.number.sum(axis=1).tolist() == table.n.tolist()


def test_stable_ages_and_values_are_the_eigenvectors_of_a_leslie_matrix() -> None:
    table, r = table_of(drawn_lives(50, 9), EggAge.START)
    size = len(table.l)
    matrix = np.zeros((size, size))
    for x in range(size - 1):
        matrix[x + 1, x] = table.l[x + 1] / table.l[x] if table.l[x] > 0 else 0.0
    # eggs of age x + 1 come from those of age x that live on to it
    matrix[0, :-1] = [matrix[x + 1, x] * table.m[x + 1] for x in range(size - 1)]
    values, right = np.linalg.eig(matrix)
    lead = int(np.argmax(values.real))
    assert values[lead].real == pytest.approx(math.exp(r), rel=1e-10)
    stable = np.abs(right[:, lead].real)
    assert table.c == pytest.approx(stable / stable.sum(), abs=1e-10)
    others, left = np.linalg.eig(matrix.T)
    worth = left[:, int(np.argmax(others.real))].real
    worth = worth / worth[0]
    # the matrix counts after the eggs of age x are laid, the table before
    alive = table.l > 0
    assert (table.v - table.m)[alive][1:] == pytest.approx(worth[alive][1:], abs=1e-8)


def test_a_small_table_worked_out_by_hand() -> None:
    """Two eggs die or become larva on day 1, adults on day 2; one female lays 4 eggs on day 3."""
    found = lives(
        Life(1.0, 2.0, 3.5, sex=FEMALE, eggs=((3.0, 3.5, 4.0),)),
        Life(1.0, 2.0, 4.0, sex=MALE),
        Life(1.0, None, 1.5),
        Life(None, None, 0.5),
    )
    table, r = table_of(found)
    assert r == pytest.approx(0.0, abs=1e-12)
    egg, larva, female, male, unknown = range(5)
    assert classes(found) == (
        ("egg", None),
        ("larva", None),
        ("adult", FEMALE),
        ("adult", MALE),
        ("adult", UNKNOWN),
    )
    assert class_at(found, 4)[0].tolist() == [egg, larva, female, female]
    assert class_at(found, 4)[1, 3] == male
    assert table.l == pytest.approx([1, 0.75, 0.5, 0.5, 0])
    assert table.n.tolist() == [4, 3, 2, 2, 0]
    assert table.m == pytest.approx([0, 0, 0, 2, 0])
    assert table.s[:, female] == pytest.approx([0, 0, 0.25, 0.25, 0])
    assert table.f[3, female] == 4.0
    assert table.e == pytest.approx([9.5 / 4, (2.5 + 3 + 0.5) / 3, (1.5 + 2) / 2, 0.75, 0])
    assert table.e_of[1, larva] == pytest.approx(2.0)
    assert table.e_of[2, [female, male]] == pytest.approx([1.5, 2.0])
    assert table.v == pytest.approx([1, 4 / 3, 2, 2, 0])
    assert table.v_of[1:4, [larva, female, male]].tolist() == [
        pytest.approx([4 / 3, 0, 0]),
        pytest.approx([0, 4, 0]),
        pytest.approx([0, 4, 0]),
    ]
    assert table.c == pytest.approx(np.array([4, 3, 2, 2, 0]) / 11)
    assert table.s[:, unknown].sum() == 0.0


def test_growing_populations_are_young_and_without_eggs_none_is_stable() -> None:
    found = lives(
        Life(1.0, 2.0, 4.0, sex=FEMALE, eggs=((2.0, 3.0, 16.0),)), Life(1.0, 2.0, 4.0, sex=MALE)
    )
    table, r = table_of(found)
    assert r == pytest.approx(math.log(8) / 2.5)
    shares = 8.0 ** (-np.arange(4) / 2.5)
    assert table.c[:4] == pytest.approx(shares / shares.sum())
    assert table.v[1] == pytest.approx(8 ** (1 / 2.5))
    assert table.v[2] == pytest.approx(8 ** (2 / 2.5))
    assert table.v_of[2, 2] == pytest.approx(2 * table.v[2])
    assert table.v[3] == 0.0
    barren, r = table_of(lives(Life(1.0, 2.0, 4.0, sex=FEMALE)))
    assert r == -math.inf
    assert np.isnan(barren.c).all()
    assert np.isnan(barren.v_of[0, 0])
    assert barren.e[0] == 4.0


def test_who_is_lost_tells_nothing_of_the_days_after() -> None:
    found = lives(
        Life(1.0, None, 2.5, died=False),
        Life(1.0, None, 4.0),
        Life(1.0, 3.0, 6.0, sex=MALE),
    )
    table, _ = table_of(found)
    assert table.number[:, 1].tolist() == [0, 3, 2, 1, 0, 0, 0]
    assert table.number[3, 3] == 1
    assert table.l == pytest.approx([1, 1, 1, 1, 0.5, 0.5, 0])
    assert table.s[3].tolist() == pytest.approx([0, 0.5, 0, 0.5, 0])
    assert table.e_of[2, 1] == pytest.approx(1 + (1 + 3) / 2)
    assert table.e_of[1, 1] == pytest.approx(2 + (1 + 3) / 2)


def test_a_population_that_dies_out_fast_has_stable_ages_though_the_table_goes_on() -> None:
    """By hand: half are left a day later, where those of that age are e¹⁰ times as many."""
    found = _stable(np.array([1.0, 0.5, *[0.0] * 100]), -10.0)
    old = 0.5 * math.exp(10)
    assert found[:2] == pytest.approx([1 / (1 + old), old / (1 + old)])
    assert found[2:].tolist() == [0] * 100
