from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.simulation.invention import Wishes, invent, invent_ended, invent_season
from rearlog.analysis.simulation.simulate import Schedule, Simulation
from rearlog.records.errors import UsageError
from rearlog.records.identity import named_id
from rearlog.records.log import ConstantTemperature, DayExtremes
from tests.analysis.invented_moth import LAID, eggs, moth

COHORT = eggs(1, zone="UTC").cohort
FIRST = date(2026, 3, 9)


def mean_eggs_days(simulation: Simulation) -> float:
    return float((simulation.lives.into[:, 1] - simulation.lives.into[:, 0]).mean())


def test_eggs_are_laid_in_the_last_hours_before_the_start() -> None:
    found = invent(COHORT, Wishes(40, 20.0, laid_within_hours=12), FIRST)
    laid = found.lives.into[:, 0]
    assert -0.5 <= laid.min() < laid.max() <= 0
    assert laid.max() - laid.min() > 0.3
    assert [each.code for each in found.log.individuals] == [str(n) for n in range(1, 41)]


def test_a_constant_temperature_is_kept_to_the_last_check() -> None:
    found = invent(COHORT, Wishes(5, 20.0), FIRST)
    assert found.log.temperatures == (
        ConstantTemperature(20.0, FIRST - timedelta(1), found.last_check.date()),
    )
    assert found.assumptions == ()


def test_it_is_warmer_where_the_wish_is_warmer() -> None:
    """By hand: 60 degree-days above 8 °C take 5 days at 20 °C and 4 at 23 °C."""
    cool, warm = (invent(COHORT, Wishes(400, celsius), FIRST) for celsius in (20.0, 23.0))
    assert mean_eggs_days(cool) == pytest.approx(5, rel=0.03)
    assert mean_eggs_days(warm) == pytest.approx(4, rel=0.03)


def test_recorded_temperatures_stay_as_they_are() -> None:
    days = tuple(DayExtremes(LAID + timedelta(day), 15.0, 25.0) for day in range(60))
    assert invent(COHORT, Wishes(5, days), FIRST).log.temperatures == days


@pytest.mark.parametrize("schedule", [Schedule(), Schedule(3), Schedule(no_weekends=True)])
@pytest.mark.parametrize("today", [date(2026, 6, 1) + timedelta(day) for day in range(7)])
def test_it_is_over_by_today_whatever_the_weekday(schedule: Schedule, today: date) -> None:
    last = invent_ended(COHORT, Wishes(10, 20.0, schedule=schedule), today).last_check.date()
    assert today - timedelta(10) <= last <= today


def test_nobody_looks_at_weekends() -> None:
    found = invent(COHORT, Wishes(5, 20.0, schedule=Schedule(no_weekends=True)), FIRST)
    assert {check.at.weekday() for check in found.log.all_observations} == set(range(5))


def test_checks_that_would_all_fall_on_weekends_are_refused() -> None:
    saturday = date(2026, 3, 7)
    with pytest.raises(UsageError, match="weekend"):
        invent(COHORT, Wishes(5, 20.0, schedule=Schedule(7, no_weekends=True)), saturday)


def test_once_a_week_on_a_weekday_is_every_week() -> None:
    weekly = Wishes(5, 20.0, schedule=Schedule(7, no_weekends=True))
    found = invent(COHORT, weekly, FIRST)  # a Monday
    days = sorted({check.at.date() for check in found.log.all_observations})
    assert {(day - FIRST).days % 7 for day in days} == {0}
    assert Wishes(5, 20.0).seed == 1  # the same animals as by `rearlog simulate` without a seed


def test_what_cannot_be_simulated_is_refused() -> None:
    cold = replace(COHORT, species=moth(lower=None))
    with pytest.raises(UsageError, match="threshold"):
        invent(cold, Wishes(5, 20.0), FIRST)


def test_the_identity_hangs_on_all_that_is_wished_and_on_no_order_of_a_set() -> None:
    forgotten = [FIRST + timedelta(day) for day in (2, 3, 5, 8, 9, 11, 13, 14)]
    wishes = Wishes(5, 20.0, schedule=Schedule(forgotten=frozenset(forgotten)))
    found = invent(COHORT, wishes, FIRST).log.cohort
    without = replace(wishes, schedule=Schedule())
    started = found.started.isoformat()
    told = (COHORT.name, COHORT.species.scientific_name, COHORT.zone, started)
    assert found.id == named_id(*told, without, forgotten)
    others = [replace(wishes, seed=2), replace(wishes, eggs=6), without]
    assert len({found.id, *(invent(COHORT, each, FIRST).log.cohort.id for each in others)}) == 4


def test_classes_of_a_season_are_five_at_a_school_and_one_in_ten_is_called_room() -> None:
    found = [each.log.cohort for each in invent_season(COHORT, Wishes(1, 20.0), 12, FIRST, FIRST)]
    numbers = ("room", *(f"class-{number:02}" for number in range(2, 11)), "room", "class-12")
    assert [each.name for each in found] == [*numbers]
    assert [each.site for each in found] == [f"School {1 + n // 5}" for n in range(12)]
    assert len({each.id for each in found}) == 12
    assert {each.started.date() for each in found} == {FIRST}
    two = [*invent_season(COHORT, Wishes(1, 20.0), 2, None, FIRST)]
    assert [each.log.cohort.name for each in two] == ["room", "class-2"]
    for each in two:
        assert FIRST - timedelta(10) <= each.last_check.date() <= FIRST


def test_rooms_of_a_season_differ_by_a_degree_and_a_half_and_have_animals_of_their_own() -> None:
    found = [*invent_season(COHORT, Wishes(1, 20.0), 60, FIRST, FIRST)]
    celsius = [each.log.cohort.planned_celsius or 0.0 for each in found]
    kept = [each.log.temperatures[0] for each in found]
    assert [isinstance(each, ConstantTemperature) and each.celsius for each in kept] == celsius
    assert celsius == [round(each, 1) for each in celsius]
    assert np.mean(celsius) == pytest.approx(20.0, abs=0.4)
    assert np.std(celsius) == pytest.approx(1.5, abs=0.25)
    assert len({each.lives.heat[0, 0] for each in found}) == 60
    for number, one in enumerate(found[:3]):
        alone = invent(one.log.cohort, Wishes(1, celsius[number], seed=1 + number), FIRST)
        assert alone.lives.heat.tolist() == one.lives.heat.tolist()


def test_a_season_is_at_one_temperature_that_is_wished() -> None:
    days = (DayExtremes(LAID, 15.0, 25.0),)
    with pytest.raises(UsageError, match="differ in their temperature"):
        next(invent_season(COHORT, Wishes(1, days), 1, FIRST, FIRST))
