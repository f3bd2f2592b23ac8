"""The life table of a cohort, from egg to egg, and how fast its population grows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import ClassVar
from zlib import crc32

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import finite
from rearlog.analysis.reproduction.age_stage import AgeStage, age_stage
from rearlog.analysis.reproduction.estimates import (
    Band,
    Estimate,
    Estimates,
    Measure,
    estimates,
)
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.histories import SEXES, Histories, histories
from rearlog.analysis.reproduction.lives_by_age import FEMALE, MALE, UNKNOWN, classes
from rearlog.analysis.reproduction.pairs_of_cohorts import PairOfCohorts, pairs_of_cohorts
from rearlog.analysis.reproduction.schedules import UnitSums, unit_sums
from rearlog.analysis.stages.events import ALIVE, DEAD, EventHistory
from rearlog.analysis.survival.survival import Sex
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog

MOST_DAYS = 2_000
"""Days of age for which tables of 10,000 resamples still fit into memory."""

_SEX = {place: sex for sex, place in SEXES.items()}


class LifeTableDay(Struct, frozen=True):
    """One day of age, from age x to x + 1, of all individuals whatever their sex.

    `n` were watched through it. `l` is the part alive at age x and `m` the eggs laid on the day for
    each of these, both with 95 % limits; `lm` = l·m. `e` are the days still to live at age x, `v`
    the reproductive value (1 at age 0), `c` the part of this age in a population of stable ages.
    `l_female` and `m_female` are those of females only, m counting daughters: None where no sex is
    known. v and c are None without eggs, the limits with too few to draw from.
    """

    x: int
    n: int
    l: float  # noqa: E741 - the column's standard name
    l_low: float | None
    l_high: float | None
    m: float
    m_low: float | None
    m_high: float | None
    lm: float
    e: float
    v: float | None
    c: float | None
    l_female: float | None
    m_female: float | None


class AgeStageDay(Struct, frozen=True):
    """Those in one stage j (adults: of one `sex`) at age x.

    `n` were watched through the day. `s` is the part of all eggs that is alive at age x in the
    stage, `f` the eggs of the day for each of them; `e` and `v` as in LifeTableDay, `c` the part of
    such in a population of stable ages.
    """

    x: int
    stage: str
    sex: Sex | None
    n: int
    s: float
    f: float
    e: float
    v: float | None
    c: float | None


class StableStage(Struct, frozen=True):
    """The part of a stage (of adults: of one sex) in a population of stable ages."""

    stage: str
    sex: Sex | None
    part: float


class Reproduction(Answer, frozen=True):
    """The life table of the `n` individuals of a cohort that entered as eggs.

    `egg_age` says at which age eggs count as laid. `left_out` entered later, so that their age is
    not known; of `since_entry` it is counted from entry. `females` and `males` are those of known
    sex, `unsexed` the adults of none; `layers` laid eggs, `eggs` of them in all, those of
    `cages_unsexed` cages shared among animals of unknown sex. `males_records` of `males_eggs` more
    are in doubt, since they were told of males, and not counted. `dead` had died by
    the last look, `alive` lived on: until they are dead, figures are of what was seen so far. The
    others were lost or removed. `units` is how many there are to draw from where some shared a
    cage or a container, else None.

    `estimates` are those of all, each egg counting, daughter or son; `females_only` those of
    daughters of females. Both grow alike where nobody is lost. `resamples` were drawn (0: too few
    units), in `childless` of which no egg was laid.
    """

    cohort: str
    egg_age: EggAge
    n: int
    left_out: int
    since_entry: int
    females: int
    males: int
    unsexed: int
    layers: int
    eggs: int
    cages_unsexed: int
    males_records: int
    males_eggs: int
    dead: int
    alive: int
    units: int | None
    resamples: int
    childless: int
    estimates: tuple[Estimate, ...]
    females_only: tuple[Estimate, ...]
    life_table: tuple[LifeTableDay, ...]
    age_stage: tuple[AgeStageDay, ...]
    stable_stages: tuple[StableStage, ...]

    def of(self, measure: Measure) -> Estimate:
        """The estimate of a measure."""
        return next(each for each in self.estimates if each.measure is measure)


class ReproductionComparison(Answer, frozen=True):
    """Several cohorts beside each other, and all pairs of them measure by measure."""

    main: ClassVar[str] = "cohorts.estimates"

    cohorts: tuple[Reproduction, ...]
    pairs: tuple[PairOfCohorts, ...]

    def pairs_of(self, measure: Measure) -> list[PairOfCohorts]:
        """The pairs of one measure."""
        return [each for each in self.pairs if each.measure is measure]


def reproduction(
    log: CohortLog, history: EventHistory, egg_age: EggAge = EggAge.MIDDLE
) -> Reproduction:
    """The life table of one cohort, its measures and their errors: see `estimates`.

    Raises UsageError where nobody entered as an egg, no eggs were counted, or a life is too long.
    """
    return _worked_out(log, history, egg_age)[0]


def can_be_made(log: CohortLog, history: EventHistory) -> bool:
    """Whether there are eggs to make a life table of: else `reproduction` refuses."""
    return _lacking(log.cohort.name, histories(log, history)) is None


def compared_reproduction(
    cohorts: Sequence[tuple[CohortLog, EventHistory]], egg_age: EggAge = EggAge.MIDDLE
) -> ReproductionComparison:
    """Two or more cohorts, and how they differ: see `pairs_of_cohorts`.

    Raises UsageError as `reproduction` does, for fewer than two, and for one given twice.
    """
    names = [log.cohort.name for log, _ in cohorts]
    if len(set(names)) < len(names):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    if len(names) < 2:
        raise UsageError("a difference needs two cohorts or more")
    found = [_worked_out(log, history, egg_age) for log, history in cohorts]
    pairs = pairs_of_cohorts([each for _, each in found])
    return ReproductionComparison(tuple(each for each, _ in found), pairs)


def _worked_out(
    log: CohortLog, history: EventHistory, egg_age: EggAge
) -> tuple[Reproduction, Estimates]:
    name = log.cohort.name
    found = histories(log, history)
    lives = found.lives
    if (lack := _lacking(name, found)) is not None:
        raise lack
    if lives.days > MOST_DAYS:
        raise UsageError(
            f"a life in {name} lasts {lives.days:,} days; a life table has {MOST_DAYS:,} at most",
            "look whether the dates of its looks are right",
        )
    sums = unit_sums(lives)
    _refuse_at_birth(name, sums, egg_age)
    # each cohort draws apart, so that differences between them are those of chance
    result = estimates(sums, egg_age, seed=crc32(log.cohort.id.encode()))
    rate = next(each.estimate for each in result.measures if each.measure is Measure.RATE)
    table = age_stage(lives, sums, -math.inf if rate is None else rate, egg_age)
    fate, adult = history.fate[found.who], np.isfinite(lives.adult_from)
    kinds = [(stage, None if sex is None else _SEX[sex]) for stage, sex in classes(lives)]
    days = int((table.l > 0).sum())
    return (
        Reproduction(
            cohort=name,
            egg_age=egg_age,
            n=len(lives.until),
            left_out=int((~found.who).sum()),
            since_entry=found.since_entry,
            females=int((lives.sex == FEMALE).sum()),
            males=int((lives.sex == MALE).sum()),
            unsexed=int((adult & (lives.sex == UNKNOWN)).sum()),
            layers=len(np.unique(lives.laid.row)),
            eggs=round(float(lives.laid.eggs.sum())),
            cages_unsexed=found.cages_unsexed,
            males_records=found.males_records,
            males_eggs=found.males_eggs,
            dead=int((fate == DEAD).sum()),
            alive=int((fate == ALIVE).sum()),
            units=sums.units if found.caged else None,
            resamples=result.resamples,
            childless=result.childless,
            estimates=result.measures,
            females_only=result.females,
            life_table=_by_day(table, sums, result, days),
            age_stage=_by_stage(table, kinds, days),
            stable_stages=tuple(
                StableStage(stage, sex, float(part))
                for (stage, sex), part, some in zip(
                    kinds, table.c_of.sum(axis=0), table.number.sum(axis=0), strict=True
                )
                if some and math.isfinite(part)
            ),
        ),
        result,
    )


def _lacking(name: str, found: Histories) -> UsageError | None:
    """What a life table of a cohort lacks: individuals from the egg on, or eggs of theirs."""
    if not found.who.any():
        return UsageError(
            f"nobody in {name} entered as an egg, so that no age is known",
            "a life table counts from the egg: start a cohort with eggs",
        )
    if len(found.lives.laid.row):
        return None
    if found.later_eggs:
        others = ", and of males, which is in doubt" if found.males_eggs else ""
        return UsageError(
            f"eggs in {name} were counted only of those who entered later than as an egg, so that "
            f"their age is not known{others}",
            "a life table counts from the egg: tell the eggs of those who entered as one",
        )
    if found.males_eggs:
        return UsageError(
            f"all eggs that were counted in {name} are told of males, and in doubt",
            CommandText(
                f"see what contradicts it with “rearlog verify {name}”",
                "their own pages show what contradicts it",
            ),
        )
    return UsageError(
        f"no eggs were counted in {name}",
        CommandText(
            f"tell them at a look, with “rearlog log {name} '3 same eggs=34'”",
            "tell them in the round, on the cards of adults",
        ),
    )


def _refuse_at_birth(name: str, sums: UnitSums, egg_age: EggAge) -> None:
    if egg_age.days == 0 and sums.eggs[:, 0].any():
        raise UsageError(
            f"in {name} eggs were laid on the day on which their mother was one herself",
            f"count them as laid at age {EggAge.MIDDLE}",
        )


def _by_day(
    table: AgeStage, sums: UnitSums, result: Estimates, days: int
) -> tuple[LifeTableDay, ...]:
    females = sums.females_only(np.ones((1, sums.units))) if sums.sexes.any() else None

    def limits(band: Band | None, x: int) -> tuple[float | None, float | None]:
        return (None, None) if band is None else (float(band.low[x]), float(band.high[x]))

    return tuple(
        LifeTableDay(
            x=x,
            n=int(table.n[x]),
            l=float(table.l[x]),
            l_low=limits(result.alive, x)[0],
            l_high=limits(result.alive, x)[1],
            m=float(table.m[x]),
            m_low=limits(result.laid, x)[0],
            m_high=limits(result.laid, x)[1],
            lm=float(table.l[x] * table.m[x]),
            e=float(table.e[x]),
            v=finite(table.v[x]),
            c=finite(table.c[x]),
            l_female=None if females is None else float(females.alive[0, x]),
            m_female=None if females is None else float(females.laid[0, x]),
        )
        for x in range(days)
    )


def _by_stage(
    table: AgeStage, kinds: Sequence[tuple[str, Sex | None]], days: int
) -> tuple[AgeStageDay, ...]:
    return tuple(
        AgeStageDay(
            x=x,
            stage=stage,
            sex=sex,
            n=int(table.number[x, place]),
            s=float(table.s[x, place]),
            f=float(table.f[x, place]),
            e=float(table.e_of[x, place]),
            v=finite(table.v_of[x, place]),
            c=finite(table.c_of[x, place]),
        )
        for place, (stage, sex) in enumerate(kinds)
        for x in range(days)
        if table.number[x, place]
    )
