"""Estimates with their errors, and differences between cohorts."""

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from rearlog.analysis.reproduction.estimates import (
    POPULATION,
    RESAMPLES,
    Band,
    Estimate,
    Estimates,
    Measure,
    estimates,
)
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.lives_by_age import FEMALE, MALE
from rearlog.analysis.reproduction.pairs_of_cohorts import pairs_of_cohorts
from rearlog.analysis.reproduction.schedules import first_eggs, unit_sums
from rearlog.analysis.statistics.differences import Verdict
from tests.analysis.reproduction.invented_lives import Life, drawn_lives, known_lives, lives


def by_measure(found: Estimates) -> dict[Measure, Any]:
    return {each.measure: each for each in found.measures}


def test_every_measure_is_there_and_population_measures_agree() -> None:
    data = drawn_lives(60, 3)
    found = estimates(unit_sums(data), resamples=200)
    told = by_measure(found)
    assert list(told) == list(POPULATION) + [each for each in Measure if each not in POPULATION]
    assert [each.measure for each in found.females] == list(POPULATION)
    r, r0 = told[Measure.RATE].estimate, told[Measure.R0].estimate
    assert r0 == pytest.approx(data.laid.eggs.sum() / 60)
    assert told[Measure.FINITE_RATE].estimate == pytest.approx(math.exp(r))
    assert told[Measure.DOUBLING].estimate == pytest.approx(math.log(2) / r)
    assert told[Measure.GENERATION].estimate == pytest.approx(math.log(r0) / r)
    assert told[Measure.LIFE].estimate == pytest.approx(data.until.mean())
    assert found.females[1].estimate == pytest.approx(r)
    assert told[Measure.DOUBLING].high == pytest.approx(math.log(2) / told[Measure.RATE].low)
    assert told[Measure.FINITE_RATE].low == pytest.approx(math.exp(told[Measure.RATE].low))
    assert {told[each].n for each in (*POPULATION, Measure.LIFE)} == {60}


def test_means_of_females_are_plain_means() -> None:
    data = drawn_lives(60, 3)
    told = by_measure(estimates(unit_sums(data), resamples=200))
    females = data.sex == FEMALE
    eggs = np.bincount(data.laid.row, data.laid.eggs, minlength=60)
    first = first_eggs(data)
    layers = ~np.isnan(first)
    some = data.laid.eggs > 0
    days = np.bincount(data.laid.row[some], (data.laid.by - data.laid.after)[some], minlength=60)
    adult = data.until - data.into[:, -1]
    expected = {
        Measure.PRE_LAYING: ((first - data.into[:, -1])[layers].mean(), layers.sum()),
        Measure.TO_FIRST_EGGS: (first[layers].mean(), layers.sum()),
        Measure.LAYING: (days[layers].mean(), layers.sum()),
        Measure.EGGS: (eggs[females].mean(), females.sum()),
        Measure.EGGS_A_DAY: (eggs.sum() / days.sum(), layers.sum()),
        Measure.FEMALE_DAYS: (adult[females].mean(), females.sum()),
        Measure.MALE_DAYS: (adult[data.sex == MALE].mean(), (data.sex == MALE).sum()),
        Measure.HATCH_SHARE: (data.hatched.sum() / data.followed.sum(), data.followed.sum()),
        Measure.FEMALE_SHARE: (females.sum() / (data.sex < 2).sum(), (data.sex < 2).sum()),
    }
    for measure, (mean, n) in expected.items():
        assert told[measure].estimate == pytest.approx(mean), measure
        assert told[measure].n == n, measure
    share = told[Measure.FEMALE_SHARE]
    limits = stats.binomtest(int(females.sum()), share.n).proportion_ci(method="wilson")
    assert (share.low, share.high) == pytest.approx((limits.low, limits.high))


def test_errors_are_those_of_means_where_these_are_known() -> None:
    data = drawn_lives(80, 6)
    told = by_measure(estimates(unit_sums(data)))
    eggs = np.bincount(data.laid.row, data.laid.eggs, minlength=80)
    r0 = told[Measure.R0]
    assert r0.se == pytest.approx(eggs.std() / 80**0.5, rel=0.03)
    assert r0.low == pytest.approx(r0.estimate - 1.96 * r0.se, rel=0.1)
    life = told[Measure.LIFE]
    assert life.se == pytest.approx(data.until.std() / 80**0.5, rel=0.03)
    hatch = told[Measure.HATCH_SHARE]
    rows = data.followed > 0
    by_female = (data.hatched - hatch.estimate * data.followed)[rows]
    assert hatch.se == pytest.approx(
        by_female.std() * rows.sum() ** 0.5 / data.followed.sum(), rel=0.06
    )


def test_limits_by_age_hold_the_estimates_and_every_seed_is_its_own() -> None:
    data = drawn_lives(50, 8)
    sums = unit_sums(data)
    one, same, other = (estimates(sums, seed=seed, resamples=400) for seed in (1, 1, 2))
    assert one.measures == same.measures != other.measures
    both = sums.both_sexes(np.ones((1, 50)))
    assert isinstance(one.alive, Band)
    assert (one.alive.low <= both.alive[0, :-1]).all()
    assert (both.alive[0, :-1] <= one.alive.high).all()
    assert len(one.laid.low) == len(both.laid[0])
    n = 50
    alive = both.alive[0, 10]
    assert one.alive.high[10] - one.alive.low[10] == pytest.approx(
        2 * 1.96 * (alive * (1 - alive) / n) ** 0.5, abs=0.06
    )
    assert one.resamples == 400


def test_cages_are_drawn_whole_and_so_are_less_sure() -> None:
    told = [
        Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, eggs),), unit=unit)
        for unit, eggs in enumerate([10.0, 20.0, 30.0, 40.0, 50.0, 60.0])
        for _ in range(4)
    ]
    caged = by_measure(estimates(unit_sums(lives(*told))))[Measure.R0]
    for each in told:
        each.unit = None
    alone = by_measure(estimates(unit_sums(lives(*told))))[Measure.R0]
    assert caged.estimate == alone.estimate == 35.0
    assert caged.se == pytest.approx(np.std([10, 20, 30, 40, 50, 60]) / 6**0.5, rel=0.03)
    assert alone.se == pytest.approx(caged.se / 2, rel=0.03)


def test_few_units_have_no_limits() -> None:
    data = lives(*[Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, 8.0),)) for _ in range(4)])
    found = estimates(unit_sums(data))
    assert found.resamples == 0
    assert found.alive is found.laid is None
    told = by_measure(found)[Measure.R0]
    assert (told.estimate, told.se, told.low, told.high) == (8.0, None, None, None)
    five = lives(
        *[
            Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, eggs),))
            for eggs in (6.0, 7, 8, 9, 10)
        ]
    )
    enough = estimates(unit_sums(five), resamples=200)
    assert enough.resamples == 200
    assert by_measure(enough)[Measure.R0].low is not None


def test_resamples_without_eggs_grow_by_less_than_any() -> None:
    layer = Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, 40.0),))
    found = estimates(unit_sums(lives(layer, *[Life(end=1.0) for _ in range(5)])))
    told = by_measure(found)
    assert found.childless / RESAMPLES == pytest.approx((5 / 6) ** 6, abs=0.02)
    assert told[Measure.R0].low == 0.0
    assert told[Measure.FINITE_RATE].low == 0.0
    assert told[Measure.RATE].low is None
    assert told[Measure.RATE].high > told[Measure.RATE].estimate
    assert told[Measure.RATE].se < 0.2
    grows = found.draws[Measure.FINITE_RATE]
    assert (grows == 0).sum() == found.childless
    assert told[Measure.FINITE_RATE].se == pytest.approx(grows[grows > 0].std(ddof=1))


def test_of_what_rests_on_one_unit_nobody_can_say_how_sure_it_is() -> None:
    layer = Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, 40.0),), hatch=(8, 3), unit=0)
    young = [Life(end=1.0) for _ in range(5)]
    alone = estimates(unit_sums(lives(layer, layer, *young)))
    told = by_measure(alone)
    for measure in (
        *(Measure.GENERATION, Measure.COHORT_GENERATION, Measure.PRE_LAYING, Measure.LAYING),
        *(Measure.TO_FIRST_EGGS, Measure.EGGS, Measure.EGGS_A_DAY, Measure.FEMALE_DAYS),
        Measure.HATCH_SHARE,
    ):
        assert told[measure].estimate is not None, measure
        assert (told[measure].se, told[measure].low, told[measure].high) == (None,) * 3, measure
    assert told[Measure.FEMALE_SHARE].se is None
    assert told[Measure.HATCH_SHARE].estimate == 0.375
    assert told[Measure.R0].se > 0
    other = Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, 40.0),), hatch=(8, 8))
    more = estimates(unit_sums(lives(layer, other, *young)))
    assert by_measure(more)[Measure.HATCH_SHARE].se > 0
    [pair] = pairs_of_cohorts([alone, more], [Measure.HATCH_SHARE])
    assert (pair.p, pair.difference.low, pair.difference.high) == (None, None, None)


def hatching(*hatched: tuple[int, int], seed: int = 1) -> Estimates:
    mothers = [
        Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, float(each[0])),), hatch=each)
        for each in hatched
    ]
    return estimates(unit_sums(lives(*mothers)), seed=seed)


def test_hatching_is_no_surer_than_that_of_so_many_eggs() -> None:
    told = by_measure(found := hatching(*[(20, 15)] * 10))[Measure.HATCH_SHARE]
    limits = stats.binomtest(150, 200).proportion_ci(method="wilson")
    assert told.se == pytest.approx(math.sqrt(0.75 * 0.25 / 200))
    assert (told.low, told.high) == pytest.approx((limits.low, limits.high))
    assert found.draws[Measure.HATCH_SHARE].std() == pytest.approx(told.se, rel=0.05)
    every = by_measure(hatching(*[(20, 20)] * 10))[Measure.HATCH_SHARE]
    assert (every.estimate, every.se, every.high) == (1.0, 0.0, 1.0)
    assert every.low == pytest.approx(stats.binomtest(200, 200).proportion_ci(method="wilson").low)
    more = by_measure(hatching(*[(20, 21)] * 10))[Measure.HATCH_SHARE]  # than were laid
    assert (more.se, more.high, more.low) == (0.0, 1.0, every.low)
    unlike = by_measure(hatching(*[(20, 20), (20, 10)] * 5))[Measure.HATCH_SHARE]
    assert unlike.se == pytest.approx(0.25 / math.sqrt(10), rel=0.03)  # of mothers, not of eggs


def test_differences_of_hatching_are_no_surer_than_those_of_so_many_eggs() -> None:
    one, other = hatching(*[(20, 15)] * 10), hatching(*[(20, 13)] * 10, seed=2)
    [pair] = pairs_of_cohorts([one, other], [Measure.HATCH_SHARE])
    p = stats.chi2_contingency([[150, 50], [130, 70]], correction=False).pvalue
    assert pair.p == pytest.approx(p, rel=0.25)
    se = math.sqrt(0.75 * 0.25 / 200 + 0.65 * 0.35 / 200)
    half = (pair.difference.high - pair.difference.low) / 2
    assert half == pytest.approx(1.96 * se, rel=0.05)


def test_without_a_sex_nothing_is_told_of_females() -> None:
    layers = [Life(2.0, 5.0, 12.0 + x, eggs=((6.0, 10.0, 40.0),)) for x in range(6)]
    found = estimates(unit_sums(lives(*layers)))
    assert by_measure(found)[Measure.R0].estimate == 40
    assert {each.estimate for each in found.females} == {None}
    assert by_measure(found)[Measure.EGGS].estimate is None


def test_a_population_that_may_not_grow_may_never_double() -> None:
    layer = Life(2.0, 5.0, 12.0, sex=FEMALE, eggs=((6.0, 10.0, 9.0),))
    found = by_measure(estimates(unit_sums(lives(layer, *[Life(end=1.0) for _ in range(7)]))))
    doubling = found[Measure.DOUBLING]
    assert doubling.estimate == pytest.approx(math.log(2) / found[Measure.RATE].estimate)
    assert doubling.low == pytest.approx(math.log(2) / found[Measure.RATE].high)
    assert found[Measure.FINITE_RATE].high == pytest.approx(math.exp(found[Measure.RATE].high))
    assert (doubling.se, doubling.high) == (None, None)
    shrinking = by_measure(estimates(unit_sums(lives(layer, *[Life(end=1.0) for _ in range(20)]))))
    assert shrinking[Measure.RATE].estimate < 0
    assert shrinking[Measure.DOUBLING].estimate is None


def test_nothing_is_said_of_what_nobody_saw() -> None:
    told = by_measure(estimates(unit_sums(lives(*[Life(end=2.0 + x) for x in range(6)]))))
    assert told[Measure.R0].estimate == 0.0
    assert told[Measure.FINITE_RATE].estimate == 0.0
    for measure in (
        Measure.RATE,
        Measure.GENERATION,
        Measure.COHORT_GENERATION,
        Measure.DOUBLING,
        Measure.PRE_LAYING,
        Measure.EGGS,
        Measure.FEMALE_DAYS,
        Measure.MALE_DAYS,
        Measure.FEMALE_SHARE,
        Measure.HATCH_SHARE,
    ):
        assert told[measure].estimate is None, measure
        assert told[measure].low is None, measure


def test_the_other_convention_counts_half_a_day_less() -> None:
    sums = unit_sums(drawn_lives(40, 3))
    middle = by_measure(estimates(sums, EggAge.MIDDLE, resamples=10))
    start = by_measure(estimates(sums, EggAge.START, resamples=10))
    gap = middle[Measure.COHORT_GENERATION].estimate - start[Measure.COHORT_GENERATION].estimate
    assert gap == pytest.approx(0.5)
    assert start[Measure.RATE].estimate > middle[Measure.RATE].estimate
    assert start[Measure.R0].estimate == middle[Measure.R0].estimate


def test_differences_of_means_are_as_sure_as_theory_says() -> None:
    one, two = drawn_lives(60, 1, eggs_a_day=9.0), drawn_lives(60, 2, eggs_a_day=6.0)
    found = [estimates(unit_sums(each), seed=seed) for seed, each in enumerate((one, two))]
    pair = next(each for each in pairs_of_cohorts(found) if each.measure is Measure.R0)
    eggs = [np.bincount(each.laid.row, each.laid.eggs, minlength=60) for each in (one, two)]
    gap = eggs[0].mean() - eggs[1].mean()
    se = ((eggs[0].var() + eggs[1].var()) / 60) ** 0.5
    assert (pair.first, pair.second) == (0, 1)
    assert pair.difference.estimate == pytest.approx(gap)
    assert pair.difference.low == pytest.approx(gap - 1.96 * se, abs=0.1 * se)
    assert pair.difference.high == pytest.approx(gap + 1.96 * se, abs=0.1 * se)
    assert pair.p == pytest.approx(2 * stats.norm.sf(abs(gap) / se), abs=0.02)
    assert pair.verdict is (Verdict.DIFFER if pair.p < 0.05 else Verdict.NOT_SHOWN)


def test_no_pair_is_told_of_a_measure_that_either_lacks() -> None:
    laying = estimates(unit_sums(drawn_lives(20, 1)))
    silent = estimates(unit_sums(lives(*[Life(end=2.0 + x) for x in range(6)])))
    for pair in ([laying, silent], [silent, laying]):
        told = {each.measure for each in pairs_of_cohorts(pair)}
        assert Measure.LIFE in told
        assert not told & {Measure.RATE, Measure.EGGS, Measure.FEMALE_DAYS}


def test_pairs_of_several_are_corrected_for_their_number() -> None:
    data = [drawn_lives(40, seed) for seed in (1, 2, 3)]
    found = [estimates(unit_sums(each), seed=seed) for seed, each in enumerate(data)]
    alone = [
        pairs_of_cohorts([found[a], found[b]], [Measure.LIFE])[0]
        for a, b in ((0, 1), (0, 2), (1, 2))
    ]
    together = pairs_of_cohorts(found, [Measure.LIFE])
    assert [(each.first, each.second) for each in together] == [(0, 1), (0, 2), (1, 2)]
    order = np.argsort([each.p or 0.0 for each in alone])
    smallest = int(order[0])
    assert together[smallest].p == pytest.approx(min(1.0, 3 * alone[smallest].p))
    for one, many in zip(alone, together, strict=True):
        assert many.difference.estimate == one.difference.estimate
        wider = (many.difference.high - many.difference.low) / (
            one.difference.high - one.difference.low
        )
        assert wider == pytest.approx(stats.norm.isf(0.05 / 6) / 1.96, rel=0.06)


def test_the_smallest_p_is_two_in_ten_thousand_and_none_is_told_of_the_same() -> None:
    many = known_lives(40, 1, 0.9, 4, 30.0)[0]
    few = known_lives(40, 2, 0.5, 4, 0.1)[0]
    found = [estimates(unit_sums(each), seed=seed) for seed, each in enumerate((many, few))]
    pairs = {each.measure: each for each in pairs_of_cohorts(found)}
    assert pairs[Measure.LIFE].p == pytest.approx(2 / 10_001)
    assert Measure.MALE_DAYS not in pairs
    assert pairs[Measure.FEMALE_SHARE].p is None  # all are females, in both
    assert pairs[Measure.FEMALE_SHARE].difference.low is None
    assert pairs[Measure.FEMALE_SHARE].verdict is Verdict.NOT_TESTED
    unsure = estimates(unit_sums(lives(*[Life(end=2.0) for _ in range(3)])))
    for pair in ([found[0], unsure], [unsure, found[0]]):
        alone = pairs_of_cohorts(pair, [Measure.LIFE])[0]
        assert (alone.p, alone.difference.low) == (None, None)


def test_p_is_twice_the_part_of_differences_on_the_rarer_side() -> None:
    told = (Estimate(Measure.LIFE, 3, 1.0, 0.1, 0.5, 1.5),)

    def drawn(*values: float) -> Estimates:
        return Estimates(told, (), {Measure.LIFE: np.array(values)}, len(values), 0, None, None)

    nothing = drawn(0.0, 0.0, 0.0)
    few = pairs_of_cohorts([drawn(1.0, -1.0, 1.0), nothing], [Measure.LIFE])[0]
    assert few.p == 1.0  # 2·(1 + 1)/(3 + 1)
    two = pairs_of_cohorts([drawn(1.0, -1.0), drawn(0.0, 0.0)], [Measure.LIFE])[0]
    assert two.p == 1.0  # no more, though 2·(1 + 1)/(2 + 1) is
    many = drawn(*[-1.0, 0.0], *[2.0] * 97)
    [pair] = pairs_of_cohorts([many, drawn(*[0.0] * 99)], [Measure.LIFE])
    assert pair.p == pytest.approx(2 * (2 + 1) / 100)
    assert (pair.difference.estimate, pair.difference.low, pair.difference.high) == (0.0, 2.0, 2.0)
    [turned] = pairs_of_cohorts([drawn(*[0.0] * 99), many], [Measure.LIFE])
    assert turned.p == pair.p
    assert pairs_of_cohorts([drawn(2.0, 2.0), drawn(1.0, 1.0)], [Measure.LIFE])[0].p is None


@pytest.mark.slow
def test_limits_hold_the_truth_as_often_as_they_say() -> None:
    """100 cohorts of 40 females that each lay after the eighth day; r and R0 are known."""
    held, trials = {Measure.RATE: 0, Measure.R0: 0}, 100
    for seed in range(trials):
        data, r = known_lives(40, 1000 + seed, 0.93, 8, 3.0)
        truth = {Measure.RATE: r, Measure.R0: 3.0 * 0.93**8 / 0.07}
        told = by_measure(estimates(unit_sums(data), seed=seed, resamples=500))
        for measure, value in truth.items():
            held[measure] += told[measure].low <= value <= told[measure].high
    for measure, times in held.items():
        assert 0.89 <= times / trials <= 0.99, (measure, times / trials)
