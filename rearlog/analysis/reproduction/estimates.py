"""What a life table says of a population, each figure with its error by the bootstrap."""

from __future__ import annotations

import math
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, finite
from rearlog.analysis.reproduction.bootstrap import bca
from rearlog.analysis.reproduction.euler_lotka import EggAge, generation_times, intrinsic_rate
from rearlog.analysis.reproduction.schedules import ByAge, UnitSums, drawn, ratio
from rearlog.analysis.statistics.differences import FEWEST_FOR_INTERVAL
from rearlog.analysis.statistics.levels import CONFIDENCE, tails
from rearlog.analysis.statistics.life_table import wilson

RESAMPLES = 10_000
ROUNDING = 1e-12
"""By so much draws that are all alike may differ from each other."""
AT_ONCE = 1 << 20
"""So many numbers of a table are held at once: resamples times days, or times units."""
MOST_LEFT_OUT = 1_000
"""Of more units than this none is left out to find the acceleration: it is then next to nothing,
for it falls with the root of their number."""


class Measure(StrEnum):
    """What is estimated. Times are in days."""

    R0 = "R0"
    """The net reproductive rate: eggs of the next generation for each egg, Σ l_x·m_x."""
    RATE = "r"
    """The intrinsic rate of increase, a day: Σ exp(−r·a)·l_x·m_x = 1."""
    FINITE_RATE = "lambda"
    """The finite rate of increase λ = exp(r): how many times as many, a day later."""
    GENERATION = "T"
    """The mean generation time ln R0 / r."""
    COHORT_GENERATION = "Tc"
    """The cohort generation time Σ a·l_x·m_x / R0: the mean age of mothers when eggs are laid."""
    DOUBLING = "doubling_days"
    """The doubling time ln 2 / r; infinite for a population that does not grow."""
    GROSS_RATE = "gross_rate"
    """The gross reproductive rate Σ m_x: eggs for one that lives to the highest age."""
    LIFE = "life_expectancy"
    """The days that an egg is to live, e_0."""
    PRE_LAYING = "preoviposition_days"
    """The days from adult to the first eggs, of females that laid (APOP)."""
    TO_FIRST_EGGS = "total_preoviposition_days"
    """The days from egg to eggs, of females that laid (TPOP)."""
    LAYING = "oviposition_days"
    """The days between looks that found eggs and the looks before them, of females that laid."""
    EGGS = "eggs_per_female"
    """The eggs of an adult female in her life, those that lay none included."""
    EGGS_A_DAY = "eggs_a_day"
    """The eggs of a female on a day on which she lays."""
    FEMALE_DAYS = "female_adult_days"
    """How long a female lives as an adult."""
    MALE_DAYS = "male_adult_days"
    """How long a male lives as an adult."""
    FEMALE_SHARE = "female_share"
    """The part of females among those whose sex is known."""
    HATCH_SHARE = "hatch_share"
    """The part that hatched of the eggs of those females of whose eggs it was counted."""


POPULATION = (
    Measure.R0,
    Measure.RATE,
    Measure.FINITE_RATE,
    Measure.GENERATION,
    Measure.COHORT_GENERATION,
    Measure.DOUBLING,
    Measure.GROSS_RATE,
)
"""What follows of l_x and m_x alone."""

Values = dict[Measure, Floats]
"""The measures of b cohorts, each (b,); NaN where a cohort has none."""


class Estimate(Struct, frozen=True):
    """A measure of `n` individuals (of HATCH_SHARE: eggs), its standard error and 95 % limits.

    `estimate` is None where it does not exist: no r without eggs, no doubling time without growth.
    The limits are None too where the population may have none (a doubling time without upper
    limit), with fewer than FEWEST_FOR_INTERVAL units to draw from, as `se` is, and where the
    measure rests on one of them alone (see `estimates`).
    """

    measure: Measure
    n: int
    estimate: float | None
    se: float | None
    low: float | None
    high: float | None


class Band(Struct, frozen=True, eq=False):
    """Limits by age: `low` and `high`, each (X,)."""

    low: Floats
    high: Floats


class Estimates(Struct, frozen=True, eq=False):
    """All measures of a cohort, and what they were worked out from.

    `females` are those of POPULATION by the life table of females only. `draws` are the measures of
    `resamples` cohorts drawn with replacement (0: too few units to draw from), of which `childless`
    laid no egg. `alive` and `laid` are the limits of l_x and m_x; None without draws.
    """

    measures: tuple[Estimate, ...]
    females: tuple[Estimate, ...]
    draws: Values
    resamples: int
    childless: int
    alive: Band | None
    laid: Band | None


def estimates(
    sums: UnitSums, age: EggAge = EggAge.MIDDLE, *, seed: int = 1, resamples: int = RESAMPLES
) -> Estimates:
    """Every measure of a cohort with its standard error and 95 % limits.

    Cohorts of as many units are drawn with replacement, individuals with all of their lives: so
    each resample has its own number of females, and of deaths before adulthood. A unit is an
    individual, or a cage with all that lived in it. A resample in which nobody lays eggs has R0 = 0
    and λ = 0. It has no r, which counts as less than any, and no T, Tc or doubling time, from which
    it is left out; its r and λ are left out of the standard errors too. The same seed gives the
    same limits. They are bias-corrected and accelerated (see `bca`); those of λ and of the doubling
    time follow from those of r, those by age are percentiles, and those of the sex ratio Wilson's.

    What rests on one unit alone, such as the part that hatched in one cage of several, is the same
    in every resample that has it: it has no standard error, limits or draws. Of few mothers
    resamples may show less error than the eggs alone would have, each hatching by itself, which
    is too little: the eggs of a mother are alike, if anything. The part that hatches has at least
    this binomial error then, with Wilson's limits, and draws from the posterior beta distribution
    after Jeffreys' prior (Brown et al. 2001, Stat. Sci. 16:101–133).
    Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 6 and 14; of life tables,
    Meyer et al. 1986, Ecology 67:1156–1166 (cited from memory).
    """
    everybody = np.ones((1, sums.units))
    here, here_of_females, _ = _values(sums, everybody, age)
    if not sums.sexes.any():
        here_of_females = {measure: np.full(1, np.nan) for measure in here_of_females}
    if sums.units < FEWEST_FOR_INTERVAL:
        both, females = (_alone(sums, values) for values in (here, here_of_females))
        return Estimates(both, females, {}, 0, 0, None, None)
    rng = np.random.default_rng(seed)
    days = sums.eggs.shape[1]
    parts = []
    left = resamples
    while left:
        size = min(left, max(1, AT_ONCE // max(days, sums.units)))
        parts.append(_values(sums, drawn(sums.units, size, rng).astype(np.float64), age))
        left -= size
    draws, of_females = _joined([each[0] for each in parts]), _joined([each[1] for each in parts])
    for each in (draws, of_females):
        each |= {one: np.full(resamples, np.nan) for one in each if _resting_on(sums, one) < 2}
    one_less = everybody if sums.units > MOST_LEFT_OUT else 1 - np.eye(sums.units)
    without, without_of_females, _ = _values(sums, one_less, age)
    measures = _with_limits(sums, here, draws, without)
    least = _more_by_eggs_alone(sums, draws[Measure.HATCH_SHARE])
    if least is not None:
        hatched, followed = _hatched(sums)
        low, high = wilson(hatched, followed) or (None, None)
        measures = tuple(
            replace(each, se=least, low=low, high=high)
            if each.measure is Measure.HATCH_SHARE
            else each
            for each in measures
        )
        draws[Measure.HATCH_SHARE] = rng.beta(hatched + 0.5, followed - hatched + 0.5, resamples)
    return Estimates(
        measures=measures,
        females=_with_limits(sums, here_of_females, of_females, without_of_females),
        draws=draws,
        resamples=resamples,
        childless=int((draws[Measure.R0] == 0).sum()),
        alive=_band([each[2].alive[:, :-1] for each in parts]),
        laid=_band([each[2].laid for each in parts]),
    )


def _alone(sums: UnitSums, values: Values) -> tuple[Estimate, ...]:
    return tuple(
        Estimate(measure, _number(sums, measure), finite(value[0]), None, None, None)
        for measure, value in values.items()
    )


def _with_limits(
    sums: UnitSums, here: Values, draws: Values, without: Values
) -> tuple[Estimate, ...]:
    found = {
        measure: _estimate(measure, sums, here[measure], draws[measure], without[measure])
        for measure in here
    }
    low, high = found[Measure.RATE].low, found[Measure.RATE].high
    if found[Measure.RATE].estimate is not None:
        found[Measure.FINITE_RATE] = replace(
            found[Measure.FINITE_RATE],
            low=0.0 if low is None else math.exp(low),
            high=None if high is None else math.exp(high),
        )
    if found[Measure.DOUBLING].estimate is not None:
        endless = bool(np.isinf(draws[Measure.DOUBLING]).any())
        found[Measure.DOUBLING] = replace(
            found[Measure.DOUBLING],
            se=None if endless else found[Measure.DOUBLING].se,
            low=None if high is None else math.log(2) / high,
            high=math.log(2) / low if low is not None and low > 0 else None,
        )
    return tuple(found.values())


def _estimate(
    measure: Measure, sums: UnitSums, here: Floats, draws: Floats, without: Floats
) -> Estimate:
    n, estimate = _number(sums, measure), finite(here[0])
    if estimate is None:
        return Estimate(measure, n, None, None, None, None)
    if measure is Measure.FINITE_RATE:
        draws = np.where(draws > 0, draws, -np.inf)  # in its place, and not in the error: as r
    found = bca(estimate, draws, without)
    if measure is Measure.FEMALE_SHARE:
        low, high = wilson(int(sums.sexes[:, 0].sum()), n) or (None, None)
        return Estimate(measure, n, estimate, found.se, low, high)
    return Estimate(measure, n, estimate, found.se, found.low, found.high)


def _more_by_eggs_alone(sums: UnitSums, draws: Floats) -> float | None:
    """The binomial standard error of the part that hatches, where its draws vary no more."""
    known = draws[~np.isnan(draws)]
    if len(known) < 2:
        return None
    hatched, followed = _hatched(sums)
    least = math.sqrt(hatched * (followed - hatched) / followed**3)
    return least if float(known.std(ddof=1)) <= least + ROUNDING else None


def _hatched(sums: UnitSums) -> tuple[int, int]:
    """How many eggs hatched of how many followed; no more than all, whatever was told."""
    hatched, followed = (round(float(each)) for each in sums.counts[:, :, -1].sum(axis=0))
    return min(hatched, followed), followed


def _joined(parts: list[Values]) -> Values:
    return {measure: np.concatenate([each[measure] for each in parts]) for measure in parts[0]}


def _band(parts: list[Floats]) -> Band:
    low, high = np.quantile(np.concatenate(parts), tails(CONFIDENCE), axis=0)
    return Band(low, high)


def _values(sums: UnitSums, weights: Floats, age: EggAge) -> tuple[Values, Values, ByAge]:
    """The measures of cohorts with the weights (b, U), by both sexes and by females only."""
    both = sums.both_sexes(weights)
    values = population(both, age)
    values[Measure.LIFE] = sums.everybody.of(weights).expectation()[:, 0]
    above, below = np.moveaxis(np.tensordot(weights, sums.counts, axes=1), 1, 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = above / below
    females, males = (each.of(weights) for each in sums.adults)
    some = [sexes > 0 for sexes in (females.watched[:, 0], males.watched[:, 0])]
    eggs = ratio(weights @ sums.adult_eggs, females.watched)
    of_life = (females.survival()[:, :-1] * eggs).sum(axis=1)
    sexed = (weights @ sums.sexes).sum(axis=1) > 0
    values |= {
        Measure.PRE_LAYING: means[:, 0],
        Measure.TO_FIRST_EGGS: means[:, 1],
        Measure.LAYING: means[:, 2],
        Measure.EGGS: np.where(some[0], of_life, np.nan),
        Measure.EGGS_A_DAY: means[:, 3],
        Measure.FEMALE_DAYS: np.where(some[0], females.expectation()[:, 0], np.nan),
        Measure.MALE_DAYS: np.where(some[1], males.expectation()[:, 0], np.nan),
        Measure.FEMALE_SHARE: np.where(sexed, sums.female_share(weights), np.nan),
        Measure.HATCH_SHARE: means[:, 4],
    }
    return values, population(sums.females_only(weights), age), both


def population(by_age: ByAge, age: EggAge) -> Values:
    """The measures of POPULATION, of b cohorts: see `intrinsic_rate` and `generation_times`.

    Source: Birch 1948, J. Anim. Ecol. 17:15–26.
    """
    born = by_age.born
    ages = np.arange(born.shape[1], dtype=np.float64) + age.days
    r = intrinsic_rate(born, ages)
    generation, cohort = generation_times(born, ages, r)
    doubling = np.full(len(r), np.inf)
    np.divide(math.log(2), r, out=doubling, where=r > 0)
    return {
        Measure.R0: born.sum(axis=1),
        Measure.RATE: r,
        Measure.FINITE_RATE: np.exp(r),
        Measure.GENERATION: generation,
        Measure.COHORT_GENERATION: cohort,
        Measure.DOUBLING: doubling,
        Measure.GROSS_RATE: by_age.laid.sum(axis=1),
    }


_PLACES = {
    Measure.PRE_LAYING: 0,
    Measure.TO_FIRST_EGGS: 1,
    Measure.LAYING: 2,
    Measure.EGGS_A_DAY: 2,
    Measure.HATCH_SHARE: 4,
}
"""Where in UnitSums.counts the number of those is that a measure is of."""


def _resting_on(sums: UnitSums, measure: Measure) -> int:
    """How many units have something to do with a measure: of T and Tc, those with eggs."""
    of = {
        Measure.GENERATION: sums.eggs,
        Measure.COHORT_GENERATION: sums.eggs,
        Measure.EGGS: sums.adults[0].watched,
        Measure.FEMALE_DAYS: sums.adults[0].watched,
        Measure.MALE_DAYS: sums.adults[1].watched,
        Measure.FEMALE_SHARE: sums.sexes,
    } | {each: sums.counts[:, 1, [place]] for each, place in _PLACES.items()}
    return int(of[measure].any(axis=1).sum()) if measure in of else sums.units


def _number(sums: UnitSums, measure: Measure) -> int:
    """Of how many individuals (of HATCH_SHARE: eggs) a measure is."""
    if measure in (Measure.FEMALE_DAYS, Measure.EGGS):
        return int(sums.adults[0].watched[:, 0].sum())
    if measure is Measure.MALE_DAYS:
        return int(sums.adults[1].watched[:, 0].sum())
    if measure is Measure.FEMALE_SHARE:
        return int(sums.sexes.sum())
    place = _PLACES.get(measure)
    return sums.n if place is None else round(float(sums.counts[:, 1, place].sum()))
