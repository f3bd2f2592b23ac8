"""The whole answer about a cohort and several, from their looks."""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.reproduction import (
    AgeStageDay,
    Reproduction,
    can_be_made,
    compared_reproduction,
    reproduction,
)
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.survival.survival import Sex
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from tests.analysis.reproduction.laying_cohort import GROWN, log_of, same
from tests.builders import seen, tiny_log


def answer(log: CohortLog, egg_age: EggAge = EggAge.MIDDLE) -> Reproduction:
    return reproduction(log, event_history(log), egg_age)


def test_everybody_is_counted_once() -> None:
    found = answer(log_of())
    assert (found.n, found.left_out, found.since_entry, found.units) == (6, 0, 0, None)
    assert (found.females, found.males, found.unsexed, found.layers) == (3, 1, 0, 2)
    assert (found.eggs, found.dead, found.alive) == (30, 6, 0)
    assert found.resamples == 10_000
    assert 0 < found.childless < 2000
    assert found.of(Measure.R0).estimate == pytest.approx(30 / 6)
    assert found.of(Measure.HATCH_SHARE).estimate == 0.5
    assert found.of(Measure.FEMALE_SHARE).estimate == 0.75


def test_r_solves_the_equation_of_its_own_table() -> None:
    for egg_age, after in ((EggAge.MIDDLE, 0.5), (EggAge.START, 0.0)):
        found = answer(log_of(), egg_age)
        r = found.of(Measure.RATE).estimate
        total = math.fsum(math.exp(-r * (day.x + after)) * day.lm for day in found.life_table)
        assert total == pytest.approx(1.0)
        females = math.fsum(
            math.exp(-r * (day.x + after)) * day.l_female * day.m_female for day in found.life_table
        )
        assert females == pytest.approx(1.0)
        assert found.egg_age is egg_age


def test_the_table_by_age_is_that_of_the_looks() -> None:
    days = answer(log_of()).life_table
    assert [day.x for day in days] == [*range(10)]
    assert [day.n for day in days] == [6, 5, 4, 4, 4, 4, 4, 4, 2, 2]
    assert [day.l for day in days] == pytest.approx([1, 5 / 6, *[4 / 6] * 6, 2 / 6, 2 / 6])
    assert days[0].m == 0
    assert sum(day.lm for day in days) == pytest.approx(5.0)
    assert (days[0].v, days[0].l_low, days[0].l_high) == (pytest.approx(1.0), 1.0, 1.0)
    assert days[3].l_low < 4 / 6 < days[3].l_high
    assert days[5].m_low <= days[5].m <= days[5].m_high
    assert days[0].m_high == 0.0
    assert sum(day.c or 0 for day in days) == pytest.approx(1.0)
    assert days[0].e == pytest.approx(np.mean([1.0, 2.0, 9.5, 10.0, 8.0, 8.0]))


def test_the_table_by_stage_tells_adults_by_sex() -> None:
    found = answer(log_of())
    kinds = {(each.stage, each.sex) for each in found.age_stage}
    assert ("adult", Sex.FEMALE) in kinds
    assert ("adult", Sex.MALE) in kinds
    assert ("adult", Sex.NOT_KNOWN) not in kinds
    assert ("L3", None) not in kinds  # an optional stage that nobody passed
    by_age: dict[int, list[AgeStageDay]] = {}
    for each in found.age_stage:
        by_age.setdefault(each.x, []).append(each)
    for day in found.life_table:
        rows = by_age[day.x]
        assert sum(each.s for each in rows) == pytest.approx(day.l)
        assert sum(each.n for each in rows) == day.n
        assert sum(each.s * each.f for each in rows) == pytest.approx(day.lm)
        assert sum(each.s * each.e for each in rows) == pytest.approx(day.l * day.e)
        assert sum(each.s * (each.v or 0) for each in rows) == pytest.approx(day.l * day.v)
        assert sum(each.c or 0 for each in rows) == pytest.approx(day.c)
    assert sum(each.part for each in found.stable_stages) == pytest.approx(1.0)
    females = [each.part for each in found.stable_stages if each.sex is Sex.FEMALE]
    assert females == [pytest.approx(sum(e.c or 0 for e in found.age_stage if e.sex is Sex.FEMALE))]


def test_eggs_of_those_who_entered_later_are_said_to_be_theirs() -> None:
    """Their age is not known: eggs were counted, and none for a life table."""
    log = tiny_log({"1": GROWN, "2": "adult"})
    for sex in ("f", None):
        with pytest.raises(UsageError, match="eggs in tiny were counted only of those who"):
            answer(log.with_checks([same("2", 2, sex=sex), same("2", 3, eggs=3)]))
    of_both = [same("1", 6, sex="m", eggs=4), same("2", 3, eggs=3)]
    with pytest.raises(UsageError, match="so that their age is not known") as told:
        answer(log.with_checks(of_both))
    assert ", and of males, which is in doubt" in str(told.value)
    assert not can_be_made(log.with_checks(of_both), event_history(log.with_checks(of_both)))


def test_without_eggs_counted_or_eggs_to_begin_with_it_is_refused() -> None:
    with pytest.raises(UsageError, match="no eggs were counted in tiny"):
        answer(tiny_log({"1": GROWN}))
    with pytest.raises(UsageError, match="no eggs were counted in tiny"):
        answer(tiny_log({"1": GROWN}).with_checks([same("1", 6, eggs=0)]))
    with pytest.raises(UsageError, match="no eggs were counted in tiny"):
        answer(tiny_log({"1": GROWN, "2": "L1 L2 pupa adult"}))
    with pytest.raises(UsageError, match="nobody in tiny entered as an egg"):
        answer(tiny_log({"1": "L1 L2 pupa adult"}).with_checks([same("1", 6, eggs=3)]))


def test_a_life_of_many_years_is_refused_before_it_fills_the_memory() -> None:
    log = log_of().with_checks([same("1", 9, eggs=3)])
    long = tiny_log({"1": GROWN}).with_checks([same("1", 6, eggs=3), same("1", 2_000)])
    with pytest.raises(UsageError, match="a life in tiny lasts 2,001 days"):
        answer(long)
    assert answer(log).n == 6
    just = tiny_log({"1": GROWN}).with_checks([same("1", 6, eggs=3), same("1", 1_999)])
    assert answer(just).n == 1


def test_eggs_on_the_day_of_birth_need_the_middle_of_the_day() -> None:
    log = tiny_log({"1": "egg"}, laid=(0, 0)).with_checks(
        [seen("1", 0.5, "adult", eggs=3), seen("1", 1, "dead")]
    )
    assert answer(log).of(Measure.R0).estimate == 3.0
    with pytest.raises(UsageError, match="on the day on which their mother was one herself"):
        answer(log, EggAge.START)


def test_cohorts_beside_each_other_draw_apart() -> None:
    told = [(log, event_history(log)) for log in (log_of("cool", 4), log_of("warm", 40))]
    found = compared_reproduction(told)
    assert [each.cohort for each in found.cohorts] == ["cool", "warm"]
    pair = next(each for each in found.pairs if each.measure is Measure.R0)
    assert pair.difference.estimate == pytest.approx((14 - 86) / 6)
    assert pair.difference.low < pair.difference.estimate < pair.difference.high
    assert found.cohorts[0] == answer(log_of("cool", 4))  # whatever stands beside it
    life = [each.of(Measure.LIFE) for each in found.cohorts]
    assert life[0].estimate == life[1].estimate
    assert life[0].se != life[1].se


def test_another_label_changes_no_figure() -> None:
    log = log_of("cool", 4)
    renamed = replace(log, cohort=replace(log.cohort, name="renamed"))
    assert replace(answer(renamed), cohort="cool") == answer(log)


def test_a_cohort_given_twice_or_alone_is_refused() -> None:
    one = (log_of(), event_history(log_of()))
    with pytest.raises(UsageError, match="the same cohort is given twice"):
        compared_reproduction([one, one])
    with pytest.raises(UsageError, match="two cohorts or more"):
        compared_reproduction([one])


def test_who_still_lives_and_who_was_left_out_is_told() -> None:
    log = tiny_log({"1": GROWN, "2": GROWN, "3": "L1 L2"}).with_checks([same("1", 6, eggs=4)])
    found = answer(log)
    assert (found.n, found.left_out, found.since_entry, found.alive) == (2, 1, 2, 2)
    assert (found.females, found.males, found.unsexed) == (1, 0, 1)
    assert found.resamples == 0
    assert found.life_table[0].l_low is None


def test_eggs_that_are_told_of_males_alone_make_no_life_table() -> None:
    told = [same("1", 5, sex="m"), same("1", 6, eggs=7)]
    log = tiny_log({"1": GROWN, "2": GROWN}, laid=(-1, 0)).with_checks(told)
    assert not can_be_made(log, event_history(log))
    with pytest.raises(UsageError, match="all eggs that were counted in tiny are told"):
        answer(log)
