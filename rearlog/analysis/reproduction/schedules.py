"""Survival and eggs by age, of many resampled cohorts at once.

A cohort is its weights: how often each unit (an individual, or those of a cage) is in it. All
counts are sums over units, so those of ten thousand cohorts are one product of matrices.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.reproduction.lives_by_age import (
    FEMALE,
    MALE,
    UNKNOWN,
    LivesByAge,
    WatchedDays,
    watched_days,
)


class Sums(Struct, frozen=True, eq=False):
    """Sums over the individuals of each of U units, by day of age; each (U, X)."""

    watched: Floats
    dies: Floats
    lived: Floats

    def of(self, weights: Floats) -> Sums:
        """The same of cohorts with the weights (b, U); each (b, X)."""
        return Sums(weights @ self.watched, weights @ self.dies, weights @ self.lived)

    def survival(self) -> Floats:
        """The part alive at the ages 0, 1 … X of each cohort, shape (b, X + 1): the product of the
        parts of those watched that lived through each day (Kaplan & Meier 1958)."""
        with np.errstate(invalid="ignore", divide="ignore"):
            stay = np.where(self.watched > 0, 1 - self.dies / self.watched, 1.0)
        alive = np.cumprod(stay, axis=1)
        return np.concatenate((np.ones((len(alive), 1)), alive), axis=1)

    def expectation(self) -> Floats:
        """The days still to live at the ages 0 … X of each cohort, (b, X + 1), within the table.

        On a day that begins with l alive, l times the part of it is lived that those watched did;
        where nobody is lost that is the mean of all lives, to the minute.
        """
        alive = self.survival()
        lived = alive[:, :-1] * ratio(self.lived, self.watched)
        ahead = np.cumsum(lived[:, ::-1], axis=1)[:, ::-1]
        ahead = np.concatenate((ahead, np.zeros((len(ahead), 1))), axis=1)
        return ratio(ahead, alive)


def ratio(above: Floats, below: Floats) -> Floats:
    """Their quotient; 0 where there is nothing below."""
    return np.divide(above, below, out=np.zeros_like(above), where=below > 0)


class ByAge(Struct, frozen=True, eq=False):
    """Of b cohorts, by age: the part alive at the ages 0 … X, `alive` (b, X + 1), and eggs on each
    day for each of those alive at its start, `laid` (b, X). For each egg at the start `born` are
    laid, (b, X)."""

    alive: Floats
    laid: Floats

    @property
    def born(self) -> Floats:
        """l_x·m_x, shape (b, X)."""
        return self.alive[:, :-1] * self.laid


class UnitSums(Struct, frozen=True, eq=False):
    """What a life table of `n` individuals is worked out from: sums over those of each of U units.

    `everybody`, `females` and `unsexed` by age; `eggs` (U, X) laid on days through which their
    mothers were watched; `adults` of each sex by days since they became adult, and `adult_eggs`
    (U, X) of females by the same; `sexes` (U, 2), how many females and males; `counts` (U, 2, C),
    C pairs of sums the quotients of which are means.
    """

    n: int
    everybody: Sums
    females: Sums
    unsexed: Sums
    eggs: Floats
    adults: tuple[Sums, Sums]
    adult_eggs: Floats
    sexes: Floats
    counts: Floats

    @property
    def units(self) -> int:
        """How many units there are."""
        return len(self.eggs)

    def both_sexes(self, weights: Floats) -> ByAge:
        """Of everybody, whatever its sex: l_x, and eggs for each individual alive.

        As in the age-stage life tables of both sexes: Chi & Liu 1985, Bull. Inst. Zool. Acad. Sin.
        24:225–240; Chi 1988, Environ. Entomol. 17:26–34.
        """
        counts = self.everybody.of(weights)
        return ByAge(counts.survival(), ratio(weights @ self.eggs, counts.watched))

    def females_only(self, weights: Floats) -> ByAge:
        """Of females: l_x, and eggs for each female alive that become daughters.

        Who died before its sex showed counts as the part of a female that females are of those
        whose sex is known, and this part of the eggs become daughters. So, where nobody is lost, as
        many daughters follow each female egg as eggs follow each egg. Source: Birch 1948, J. Anim.
        Ecol. 17:15–26, with the sex ratio that was found in place of one half.
        """
        share = self.female_share(weights)[:, None]
        known, maybe = self.females.of(weights), self.unsexed.of(weights)
        counts = Sums(
            known.watched + share * maybe.watched,
            known.dies + share * maybe.dies,
            known.lived + share * maybe.lived,
        )
        return ByAge(counts.survival(), ratio(share * (weights @ self.eggs), counts.watched))

    def female_share(self, weights: Floats) -> Floats:
        """The part of females among those whose sex is known, shape (b,); 0 where none is."""
        sexes = weights @ self.sexes
        return ratio(sexes[:, 0], sexes.sum(axis=1))


def unit_sums(lives: LivesByAge) -> UnitSums:
    """The sums of the lives of a cohort, unit by unit.

    The `counts` are, of those that laid, whatever their sex: days from adult to the first eggs, and
    these; days from egg to eggs, and these; days on which they laid, and these; eggs, and the days
    on which they were laid; and of all, eggs that hatched, and those followed.
    """
    label, unit = np.unique(lives.units, return_inverse=True)
    n, days = len(lives.units), lives.days
    by_age = watched_days(lives.entered, lives.until, lives.died, days)
    adult = np.isfinite(lives.adult_from)
    begun = np.where(adult, lives.adult_from, 0.0)
    as_adults = watched_days(
        np.maximum(lives.entered - begun, 0.0), lives.until - begun, lives.died, days
    )
    females = lives.sex == FEMALE

    def total(values: Floats | Booleans, who: Booleans | None = None) -> Floats:
        summed = np.zeros((len(label), values.shape[1]))
        np.add.at(summed, unit.ravel(), values if who is None else values * who[:, None])
        return summed

    def sums(part: WatchedDays, who: Booleans | None = None) -> Sums:
        return Sums(*(total(each, who) for each in (part.watched, part.dies, part.lived)))

    sexes = np.column_stack([lives.sex == sex for sex in (FEMALE, MALE)])
    above, below = _counts(lives)
    return UnitSums(
        n=n,
        everybody=sums(by_age),
        females=sums(by_age, females),
        unsexed=sums(by_age, lives.sex == UNKNOWN),
        eggs=total(lives.laid.by_day(n, days) * by_age.watched),
        adults=(sums(as_adults, adult & females), sums(as_adults, adult & (lives.sex == MALE))),
        adult_eggs=total(lives.laid.by_day(n, days, begun) * as_adults.watched, adult & females),
        sexes=total(sexes),
        counts=np.stack((total(above), total(below)), axis=1),
    )


def first_eggs(lives: LivesByAge) -> Floats:
    """The age at which each laid its first eggs, in the middle of the time in which it may have
    been, shape (n,); NaN where it laid none."""
    first = np.full(len(lives.units), np.inf)
    some = lives.laid.eggs > 0
    middle = (lives.laid.after + lives.laid.by) / 2
    np.minimum.at(first, lives.laid.row[some], middle[some])
    return np.where(np.isfinite(first), first, np.nan)


def _counts(lives: LivesByAge) -> tuple[Floats, Floats]:
    """What is divided by what in the means of those that laid, each (n, 5): see `unit_sums`."""
    n, laid = len(lives.units), lives.laid
    some = laid.eggs > 0
    days = np.bincount(laid.row[some], (laid.by - laid.after)[some], minlength=n)
    eggs = np.bincount(laid.row, laid.eggs, minlength=n)
    first = first_eggs(lives)
    known = np.isfinite(lives.adult_from) & ~np.isnan(first)
    until_first = np.where(known, first - np.where(known, lives.adult_from, 0.0), 0.0)
    layers = ~np.isnan(first)
    above = (until_first, np.nan_to_num(first), days, eggs, lives.hatched)
    below = (known, layers, layers, days, lives.followed)
    return np.column_stack(above), np.column_stack(below).astype(np.float64)


def drawn(units: int, resamples: int, rng: np.random.Generator) -> Integers:
    """How often each unit is in each of the cohorts drawn with replacement, (resamples, units)."""
    return rng.multinomial(units, np.full(units, 1 / units), size=resamples)
