"""Days laid out from records: all values by hand."""

from collections.abc import Iterable
from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import (
    FILLED,
    MISSING,
    RECORDED,
    DayKnown,
    Temperatures,
    lay_out,
)
from rearlog.analysis.heat.gap_filling import (
    TemperatureGaps,
    at_one_level,
    extended,
    gaps_in,
    known_since,
    up_to_the_last_known,
)
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from tests.builders import START, moment, seen, tiny_log

DAY0 = START.date()
CLOCK = tiny_log({}).cohort.clock
MIDNIGHT = moment(-9 / 24)
HOUR = 3600


def on(offset: int) -> date:
    return DAY0 + timedelta(days=offset)


def laid(*records: Temperature, days: int = 1) -> Temperatures:
    """One individual looked at on so many days, beside these temperatures."""
    return lay_out(tiny_log({"1": "egg" + " egg" * days}, temperatures=records))


def read_at(*hours: float, celsius: float = 20.0) -> Readings:
    """A logger that read one temperature at these hours after the first midnight."""
    return Readings(MIDNIGHT, tuple(int(hour * HOUR) for hour in hours), (celsius,) * len(hours))


def test_how_days_are_known_is_told_each_way_once() -> None:
    every_hour = read_at(*range(25))
    extremes, same = DayExtremes(on(1), 15.0, 25.0), DayExtremes(on(1), 20.0, 20.0)
    constant = ConstantTemperature(20.0, on(0))
    assert laid().kept == ()
    assert laid(constant, days=2).kept == (DayKnown.CONSTANT,)
    assert laid(constant, extremes, days=2).kept == (DayKnown.EXTREMES, DayKnown.CONSTANT)
    assert laid(same, days=1).kept == (DayKnown.CONSTANT,)
    first_day = ConstantTemperature(20.0, on(0), on(0))
    assert laid(first_day, every_hour).kept == (DayKnown.LOGGED,)
    assert laid(every_hour, extremes, days=1).kept == (DayKnown.LOGGED, DayKnown.EXTREMES)


def test_days_run_from_the_first_egg_to_the_last_record() -> None:
    log = tiny_log({"1": "egg egg"}, laid=(-3, -2))
    assert lay_out(log).dates == tuple(map(on, range(-3, 2)))
    assert lay_out(log).edges.tolist() == pytest.approx([day - 9 / 24 for day in range(-3, 3)])
    early = (replace(log.individuals[0], entered_at=moment(-3), laid_after=None, laid_by=None),)
    before = replace(log, individuals=early, all_observations=(seen("1", -2, "egg"),))
    assert lay_out(before).dates == tuple(map(on, range(-3, 1)))  # to the start in any case
    for last in (
        DayExtremes(on(6), 10, 20),
        ConstantTemperature(20, on(0), on(6)),
        Readings(moment(4), (0, 2 * 86_400), (20, 20)),
    ):
        assert lay_out(replace(log, all_temperatures=(last,))).dates[-1] == on(6)


def test_an_egg_whose_laying_has_only_one_bound_begins_the_days_there() -> None:
    log = tiny_log({"1": "egg egg"})
    egg = log.individuals[0]
    for one in (replace(egg, laid_by=moment(-2)), replace(egg, laid_after=moment(-2))):
        assert lay_out(replace(log, individuals=(one,))).dates[0] == on(-2)


def test_a_constant_holds_from_its_first_day_through_its_last_and_the_later_wins() -> None:
    found = laid(
        ConstantTemperature(18, on(-4), on(3)), ConstantTemperature(25, on(2), on(2)), days=5
    )
    assert found.maximum.tolist() == found.minimum.tolist() == [18, 18, 25, 18, 18, 18]
    assert found.status.tolist() == [RECORDED] * 4 + [FILLED] * 2
    before = laid(ConstantTemperature(18, on(-9), on(-2)), days=2)
    assert not before.any_known


@pytest.mark.parametrize(("every", "logged"), [(1, True), (6, True), (6.5, False)])
def test_readings_cover_a_day_unless_they_are_more_than_six_hours_apart(
    every: float, logged: bool
) -> None:
    found = laid(read_at(*np.arange(0, 60, every).tolist()))
    assert found.logged[:2].tolist() == [logged, logged]


@pytest.mark.parametrize(
    ("hours", "covered"),
    [
        (range(6, 49), [True, True]),  # begins six hours into the first day
        (range(7, 49), [False, True]),
        (range(0, 43), [True, True]),  # ends six hours before the second is over
        (range(0, 42), [True, False]),
        ([*range(0, 20), *range(28, 49)], [False, False]),  # a gap across midnight
        ([*range(0, 25), *range(32, 49)], [True, False]),
        ([*range(0, 16), *range(24, 49)], [False, True]),
        (range(0, 22), [True, False]),  # ends three hours before the first is over
        (range(27, 49), [False, True]),
        ([12], [False, False]),
    ],
)
def test_which_days_readings_cover_from_end_to_end(
    hours: Iterable[int], covered: list[bool]
) -> None:
    assert laid(read_at(*hours)).logged[:2].tolist() == covered


def test_readings_of_a_part_of_a_day_do_not_tell_its_extremes() -> None:
    readings = Readings(MIDNIGHT, (0, 5 * HOUR, 12 * HOUR), (14.0, 31.0, 20.0))
    found = laid(readings)
    assert not found.any_known
    assert found.sparse.tolist() == [True, False]
    told = laid(readings, DayExtremes(on(0), 10, 40))
    assert (told.minimum[0], told.maximum[0]) == (10, 40)
    assert not told.sparse.any()


def test_a_logger_that_is_silent_every_night_makes_no_day_warm() -> None:
    """Days of 15 to 25 °C, read from half past seven to half past eight in the evening only."""
    hours = np.arange(0, 24 * 8, 0.5)
    celsius = 20 - 5 * np.cos(2 * np.pi * (hours - 3) / 24)
    awake = (hours % 24 >= 7.5) & (hours % 24 <= 20.5)
    every, days = (
        laid(
            Readings(
                MIDNIGHT,
                tuple((HOUR * hours[kept]).astype(int).tolist()),
                tuple(celsius[kept].tolist()),
            ),
            days=7,
        )
        for kept in (np.ones(len(hours), dtype=bool), awake)
    )
    assert every.status.tolist() == [RECORDED] * 8
    assert days.status.tolist() == [MISSING] * 8
    assert gaps_in("tiny", days) == TemperatureGaps("tiny", (), tuple(map(on, range(8))), 8)


def test_one_silent_night_is_filled_and_a_gap_to_just_after_midnight_spoils_one_day() -> None:
    hours = np.arange(0, 24 * 6, 0.5)
    night = (hours > 44.5) & (hours < 54)  # from 20:30 on the second day to 6:00 on the third
    evening = (hours > 90) & (hours < 96.5)  # from 18:00 on the fourth to half past midnight
    kept = hours[~night & ~evening]
    found = laid(read_at(*kept.tolist()), days=5)
    assert found.status.tolist() == [RECORDED, FILLED, FILLED, FILLED, RECORDED, RECORDED]
    assert found.logged.tolist() == [True, False, False, False, True, True]
    assert gaps_in("tiny", found) == TemperatureGaps("tiny", tuple(map(on, (1, 2, 3))), (), 3)


def test_extremes_are_those_of_the_days_own_readings() -> None:
    hours = np.arange(0, 49)
    celsius = np.where(hours < 24, 15.0 + hours / 10, 25.0 - hours / 10)
    found = laid(Readings(MIDNIGHT, tuple((HOUR * hours).tolist()), tuple(celsius.tolist())))
    # midnight belongs to both days: 25 − 2.4
    assert found.minimum[:2].tolist() == pytest.approx([15.0, 20.2])
    assert found.maximum[:2].tolist() == pytest.approx([22.6, 22.6])


def test_of_two_readings_of_one_moment_the_first_counts() -> None:
    found = laid(read_at(*range(0, 25, 2), celsius=21.0), read_at(*range(0, 49), celsius=26.0))
    assert found.reading_days.tolist() == pytest.approx([(hour - 9) / 24 for hour in range(49)])
    assert found.reading_celsius[:4].tolist() == [21, 26, 21, 26]


def test_an_end_is_filled_with_the_nearest_day_as_far_as_three_days() -> None:
    found = laid(DayExtremes(on(3), 11, 21), days=6)
    assert found.status.tolist() == [FILLED] * 3 + [RECORDED] + [FILLED] * 3
    assert (set(found.minimum), set(found.maximum)) == ({11}, {21})
    longer = laid(DayExtremes(on(3), 11, 21), days=7)
    assert longer.status.tolist() == [FILLED] * 3 + [RECORDED] + [MISSING] * 4
    assert longer.missing_dates == tuple(map(on, range(4, 8)))
    assert np.isnan(longer.maximum[4:]).all()


def test_gaps_are_told_day_by_day() -> None:
    known = laid(*(DayExtremes(on(day), 10, 20) for day in (0, 2, 7)), days=8)
    assert gaps_in("tiny", known) == TemperatureGaps(
        "tiny", (on(1), on(8)), tuple(map(on, range(3, 7)))
    )
    assert gaps_in("tiny", known, before=on(5)) == TemperatureGaps("tiny", (on(1),), (on(3), on(4)))
    assert gaps_in("tiny", laid(ConstantTemperature(20, DAY0), days=3)) is None


def test_a_forecast_stops_at_the_last_known_day_and_counts_from_the_last_long_gap_on() -> None:
    known = up_to_the_last_known(
        laid(DayExtremes(on(0), 10, 20), DayExtremes(on(5), 15, 30), days=12)
    )
    assert known.dates == tuple(map(on, range(6)))
    assert len(known.edges) == 7
    assert known.status.tolist() == [RECORDED, *[MISSING] * 4, RECORDED]
    assert known_since(known) == pytest.approx(5 - 9 / 24)
    assert known_since(laid(ConstantTemperature(20, DAY0), days=3)) == pytest.approx(-9 / 24)


def test_days_to_come_leave_gaps_as_they_are() -> None:
    known = up_to_the_last_known(
        laid(DayExtremes(on(0), 10, 20), DayExtremes(on(5), 15, 30), days=12)
    )
    longer = extended(known, [DayExtremes(on(7), 19, 34)], CLOCK)
    assert longer.minimum[5:].tolist() == pytest.approx([15, 17, 19])
    assert longer.status.tolist() == [RECORDED, *[MISSING] * 4, RECORDED, FILLED, RECORDED]
    assert np.isnan(longer.minimum[1:5]).all()


def test_a_level_leaves_no_day_unknown() -> None:
    level = at_one_level(laid(DayExtremes(on(0), 10, 20), days=9), 23.5)
    assert set(level.minimum) == set(level.maximum) == {23.5}
    assert set(level.status) == {RECORDED}


def test_days_to_come_are_joined_in_a_straight_line() -> None:
    known = laid(DayExtremes(on(0), 10, 20), DayExtremes(on(1), 12, 22), days=1)
    longer = extended(known, [DayExtremes(on(4), 18, 31), DayExtremes(on(5), 9, 15)], CLOCK)
    assert longer.dates == tuple(map(on, range(6)))
    assert longer.edges.tolist() == pytest.approx([day - 9 / 24 for day in range(7)])
    assert longer.minimum.tolist() == pytest.approx([10, 12, 14, 16, 18, 9])
    assert longer.maximum.tolist() == pytest.approx([20, 22, 25, 28, 31, 15])
    assert longer.status.tolist() == [RECORDED, RECORDED, FILLED, FILLED, RECORDED, RECORDED]
    assert longer.logged.tolist() == longer.sparse.tolist() == [False] * 6
    told = replace(known, logged=np.array([True, False]), sparse=np.array([False, True]))
    longer = extended(told, [DayExtremes(on(2), 18, 31)], CLOCK)
    assert longer.logged.tolist() == [True, False, False]
    assert longer.sparse.tolist() == [False, True, False]
