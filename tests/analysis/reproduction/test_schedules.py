"""Survival and eggs by age, beside plain loops, lifelines and cohorts of which r is known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter

from rearlog.analysis.reproduction.estimates import Measure, population
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.lives_by_age import (
    FEMALE,
    MALE,
    EggCounts,
    LivesByAge,
    watched_days,
)
from rearlog.analysis.reproduction.schedules import first_eggs, ratio, unit_sums
from tests.analysis.reproduction.invented_lives import (
    Life,
    by_loops,
    drawn_lives,
    known_lives,
    lives,
)


def whole(found: LivesByAge) -> np.ndarray:
    return np.ones((1, len(np.unique(found.units))))


@pytest.mark.parametrize("censored", [0.0, 0.4])
@pytest.mark.parametrize("seed", [1, 2])
def test_survival_and_eggs_are_those_of_plain_loops(seed: int, censored: float) -> None:
    found = drawn_lives(40, seed, censored=censored)
    both = unit_sums(found).both_sexes(whole(found))
    survival, born = by_loops(found)
    assert both.alive[0, :-1] == pytest.approx(survival)
    assert both.born[0] == pytest.approx(born)
    assert sum(born) > 5


def test_survival_with_losses_is_the_estimate_of_kaplan_and_meier() -> None:
    found = drawn_lives(80, 7, censored=0.5)
    ends = np.where(found.died, np.ceil(found.until), np.floor(found.until))
    reference = KaplanMeierFitter().fit(ends, found.died)
    alive = unit_sums(found).everybody.of(whole(found)).survival()[0]
    at = [float(reference.predict(x)) for x in range(len(alive))]
    assert alive == pytest.approx(at)
    assert 0.2 < alive[10] < 0.9


def test_where_nobody_is_lost_figures_are_plain_means() -> None:
    found = drawn_lives(60, 3)
    sums = unit_sums(found)
    both, females = sums.both_sexes(whole(found)), sums.females_only(whole(found))
    eggs_each = found.laid.eggs.sum() / 60
    assert both.born.sum() == pytest.approx(eggs_each)
    assert females.born[0] == pytest.approx(both.born[0])  # daughters of a female egg
    assert females.laid[0].sum() != pytest.approx(both.laid[0].sum())
    life = sums.everybody.of(whole(found)).expectation()
    assert life[0, 0] == pytest.approx(found.until.mean())
    share = (found.sex == FEMALE).sum() / ((found.sex == FEMALE) | (found.sex == MALE)).sum()
    assert sums.female_share(whole(found))[0] == pytest.approx(share)
    grown = [found.until - found.into[:, -1], found.sex]
    for part, sex in zip(sums.adults, (FEMALE, MALE), strict=True):
        days = part.of(whole(found)).expectation()[0, 0]
        assert days == pytest.approx(grown[0][grown[1] == sex].mean())
    weights = np.zeros((1, 60))
    weights[0, :30] = 2
    half = sums.both_sexes(weights)
    assert half.born.sum() == pytest.approx(found.laid.eggs[found.laid.row < 30].sum() / 30)


def test_the_unsexed_count_as_the_part_of_a_female_that_they_are() -> None:
    found = lives(
        Life(2.0, 5.0, 8.0, sex=FEMALE, eggs=((6.0, 8.0, 30.0),)),
        Life(2.0, 5.0, 9.0, sex=MALE),
        Life(2.0, 5.0, 9.0, sex=MALE),
        Life(end=0.5),  # a third of a female
    )
    females = unit_sums(found).females_only(whole(found))
    assert females.alive[0] == pytest.approx([1, *[3 / 4] * 7, 0, 0, 0])
    assert females.laid[0] == pytest.approx([0] * 6 + [5, 5, 0, 0])  # of 15 eggs a third
    assert females.born.sum() == pytest.approx(30 / 4)


def test_nobody_known_to_be_female_lays_nothing() -> None:
    found = lives(Life(2.0, 5.0, 9.0, sex=MALE), Life(end=3.0))
    sums = unit_sums(found)
    assert sums.female_share(whole(found)).tolist() == [0.0]
    assert sums.females_only(whole(found)).born.sum() == 0.0
    assert np.isnan(population(sums.both_sexes(whole(found)), EggAge.MIDDLE)[Measure.GENERATION][0])


def test_days_count_as_far_as_they_were_watched() -> None:
    entered = np.array([0.0, 0.9, 1.0, 1.1, 0.0, 0.0, 0.0])
    until = np.array([2.5, 2.5, 2.5, 2.5, 2.0, 2.0, 0.0])
    died = np.array([True, True, False, True, True, False, True])
    found = watched_days(entered, until, died, 4)
    assert found.watched.astype(int).tolist() == [
        [1, 1, 1, 0],
        [1, 1, 1, 0],
        [0, 1, 0, 0],
        [0, 0, 1, 0],
        [1, 1, 0, 0],
        [1, 1, 0, 0],
        [1, 0, 0, 0],
    ]
    assert found.dies.sum(axis=0).tolist() == [1, 1, 3, 0]
    assert found.lived[0].tolist() == [1, 1, 0.5, 0]
    assert found.lived[4].tolist() == [1, 1, 0, 0]
    assert found.lived[6].tolist() == [0, 0, 0, 0]


@given(
    st.lists(
        st.tuples(st.floats(0, 30), st.floats(0, 5), st.integers(0, 90)), min_size=1, max_size=8
    )
)
@settings(max_examples=60, deadline=None)
def test_no_egg_is_lost_in_spreading_them(counts: list[tuple[float, float, int]]) -> None:
    after, width, eggs = (np.array(each, float) for each in zip(*counts, strict=True))
    laid = EggCounts(np.zeros(len(counts), dtype=np.int64), after, after + width, eggs)
    by_day = laid.by_day(1, 40)
    assert by_day.sum() == pytest.approx(eggs.sum())
    early = sum(
        number * (min(1.0, max(0.0, 10 - start) / long) if long > 1e-9 else float(start < 10))
        for start, long, number in zip(after, width, eggs, strict=True)
    )
    assert by_day[0, :10].sum() == pytest.approx(early, abs=1e-6)


def test_eggs_are_spread_evenly_over_the_time_between_two_looks() -> None:
    row, eggs = np.array([1, 0, 1]), np.array([30.0, 8.0, 5.0])
    laid = EggCounts(row, np.array([2.5, 1.25, 4.0]), np.array([4.5, 1.75, 4.0]), eggs)
    assert laid.by_day(2, 6).tolist() == [[0, 8, 0, 0, 0, 0], [0, 0, 7.5, 15, 12.5, 0]]
    since = np.array([0.0, 2.5])
    assert laid.by_day(2, 6, since).tolist() == [[0, 8, 0, 0, 0, 0], [15, 20, 0, 0, 0, 0]]
    before = EggCounts(row[:1], np.array([0.5]), np.array([1.5]), eggs[:1])
    assert before.by_day(2, 3, since).tolist() == [[0, 0, 0], [30, 0, 0]]  # on the first day
    nothing = EggCounts(row[:0], eggs[:0], eggs[:0], eggs[:0])
    assert nothing.by_day(1, 2).tolist() == [[0, 0]]


def test_the_first_eggs_are_the_first_that_were_some() -> None:
    found = lives(
        Life(2.0, 5.0, 20.0, sex=FEMALE, eggs=((5.0, 6.0, 0.0), (8.0, 9.0, 4.0), (6.0, 8.0, 1.0))),
        Life(2.0, 5.0, 20.0, sex=FEMALE, eggs=((5.0, 6.0, 0.0),)),
    )
    assert first_eggs(found)[0] == 7.0
    assert np.isnan(first_eggs(found)[1])
    assert found.days == 21
    assert lives(Life(end=0.5)).days == 1
    assert lives(Life(end=0.5, eggs=((0.0, 2.5, 1.0),))).days == 3


def test_those_who_share_a_cage_are_one_unit() -> None:
    found = drawn_lives(12, 5)
    caged = lives(Life(end=1.0, unit=7), Life(end=3.0, unit=7), Life(end=2.0, unit=3))
    sums = unit_sums(caged)
    assert (sums.n, sums.units) == (3, 2)
    assert sums.everybody.watched.tolist() == [[1, 1, 0, 0], [2, 1, 1, 0]]
    assert unit_sums(found).units == 12


@pytest.mark.parametrize(
    ("stay", "adult", "eggs"), [(0.93, 8, 3.0), (0.8, 4, 0.6), (0.97, 20, 25.0)]
)
def test_r_of_large_cohorts_is_the_one_that_they_were_made_with(
    stay: float, adult: int, eggs: float
) -> None:
    found, r = known_lives(4_000, 11, stay, adult, eggs)
    sums = unit_sums(found)
    estimate = population(sums.both_sexes(whole(found)), EggAge.MIDDLE)
    assert estimate[Measure.RATE][0] == pytest.approx(r, abs=0.012)
    assert estimate[Measure.R0][0] == pytest.approx(eggs * stay**adult / (1 - stay), rel=0.08)


def test_losses_do_not_bend_the_estimate() -> None:
    full, _ = known_lives(3_000, 2, 0.93, 8, 3.0)
    rng = np.random.default_rng(4)
    gone = rng.exponential(40.0, 3_000)
    lost = gone < full.until
    cut = LivesByAge(
        full.stages,
        full.entered,
        np.where(lost, gone, full.until),
        ~lost,
        full.sex,
        full.into,
        full.units,
        full.laid,
        full.followed,
        full.hatched,
    )
    kept = [
        population(unit_sums(each).both_sexes(whole(each)), EggAge.MIDDLE) for each in (full, cut)
    ]
    assert lost.mean() > 0.2
    assert kept[1][Measure.R0][0] == pytest.approx(kept[0][Measure.R0][0], rel=0.08)
    assert kept[1][Measure.RATE][0] == pytest.approx(kept[0][Measure.RATE][0], abs=0.006)


def test_nothing_divided_by_nothing_is_none() -> None:
    assert ratio(np.array([1.0, 0.0]), np.array([4.0, 0.0])).tolist() == [0.25, 0.0]
    assert math.isfinite(ratio(np.array([1.0]), np.array([0.0]))[0])
