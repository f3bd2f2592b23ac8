from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.future_temperature import (
    FutureTemperature,
    TemperatureBasis,
    temperature_course,
)
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes
from rearlog.records.times import at_clock
from rearlog.sentences.notices import noticed
from tests.analysis.invented_moth import LAID, LOWER, eggs, moth

NOON = at_clock(LAID + timedelta(20), "12:00", "Europe/London")
TODAY = NOON.date()


def days(*celsius, first=LAID, spread=0.0):
    return tuple(
        DayExtremes(first + timedelta(step), each - spread, each + spread)
        for step, each in enumerate(celsius)
    )


def known(*temperatures, **more):
    return eggs(3, *temperatures, **more).as_of(NOON)


def said(told):
    return noticed(told.notices, "tiny")


def rate_between(told, first, last):
    start = at_clock(first, "00:00", "Europe/London")
    end = at_clock(last, "00:00", "Europe/London")
    begun = known().cohort.started
    low, high = ((each - begun).total_seconds() / 86_400 for each in (start, end))
    return float(np.diff(told.amount(np.array([low, high])))[0] / (high - low))


def test_the_mean_of_the_last_seven_days_goes_on():
    told = temperature_course(known(*days(*[15.0] * 13, 21, 24, 18, 22, 19, 23, 20)), NOON)
    assert told.celsius == pytest.approx(21.0)
    assert told.rate == pytest.approx(21.0 - LOWER)
    assert rate_between(told, TODAY + timedelta(2), TODAY + timedelta(40)) == pytest.approx(13.0)


def test_what_the_log_knows_stays_as_it_was():
    told = temperature_course(known(*days(*range(12, 32))), NOON, FutureTemperature(30.0))
    assert rate_between(told, LAID, LAID + timedelta(1)) == pytest.approx(12 - LOWER)
    assert rate_between(told, LAID + timedelta(9), LAID + timedelta(10)) == pytest.approx(13.0)


def test_a_given_temperature_begins_today_and_has_no_chance_in_it():
    told = temperature_course(known(*days(*range(12, 32))), NOON, FutureTemperature(25.0))
    assert (told.celsius, told.rate) == pytest.approx((25.0, 25.0 - LOWER))
    assert rate_between(told, TODAY, TODAY + timedelta(90)) == pytest.approx(25.0 - LOWER)
    assert told.variance(np.array([1e4])) == pytest.approx(0.0)


def test_a_given_temperature_does_not_reach_back_to_where_the_record_ended():
    told = temperature_course(known(*days(*[15.0] * 12)), NOON, FutureTemperature(25.0))
    assert rate_between(told, TODAY - timedelta(7), TODAY) == pytest.approx(15.0 - LOWER)
    assert rate_between(told, TODAY, TODAY + timedelta(1)) == pytest.approx(25.0 - LOWER)


def test_given_days_are_spent_one_by_one_then_their_last_week_goes_on():
    to_come = days(*[10.0] * 3, *[20.0] * 7, first=TODAY)
    told = temperature_course(known(*days(*[15.0] * 20)), NOON, FutureTemperature(daily=to_come))
    assert told.celsius == pytest.approx(17.0)
    assert rate_between(told, TODAY, TODAY + timedelta(3)) == pytest.approx(10.0 - LOWER)
    assert rate_between(told, TODAY + timedelta(20), TODAY + timedelta(21)) == pytest.approx(12.0)


def test_days_between_the_record_and_the_given_days_lie_on_a_straight_line():
    to_come = days(*[25.0] * 7, first=TODAY + timedelta(4))
    told = temperature_course(known(*days(*[15.0] * 20)), NOON, FutureTemperature(daily=to_come))
    middle = rate_between(told, TODAY, TODAY + timedelta(4))
    assert middle == pytest.approx(20.0 - LOWER, abs=0.02)  # the second day has 23 hours


def test_what_was_taken_is_told():
    record = days(*[15.0] * 17, 22, 18, 20)
    lately = temperature_course(known(*record), NOON).basis
    assert lately is not None
    assert lately.celsius == pytest.approx((4 * 15 + 60) / 7)
    assert replace(lately, celsius=0.0) == TemperatureBasis(0.0, False, None, None, 7, 0.0)
    short = temperature_course(known(*days(*[16.0] * 3, first=LAID + timedelta(17))), NOON).basis
    assert (short.given, short.recent_days) == (False, 3)  # those before are not known
    given = temperature_course(known(*record), NOON, FutureTemperature(25.0)).basis
    assert (given.celsius, given.given, given.first, given.last) == (25.0, True, None, None)
    to_come = days(*[10.0, 20.0], first=TODAY)
    daily = temperature_course(known(*record), NOON, FutureTemperature(daily=to_come)).basis
    assert daily == TemperatureBasis(15.0, True, TODAY, TODAY + timedelta(1), 7, 0.0)


def test_what_was_planned_is_not_told_as_what_is_on_record():
    log = known()
    planned = replace(log, cohort=replace(log.cohort, planned_celsius=24.0), all_temperatures=())
    taken = temperature_course(planned, NOON).basis
    assert taken == TemperatureBasis(24.0, False, None, None, 0, 0.0)
    given = temperature_course(planned, NOON, FutureTemperature(20.0)).basis
    assert given == TemperatureBasis(20.0, True, None, None, 0, 0.0)


def test_in_the_cold_no_weather_moves_what_never_comes():
    told = temperature_course(known(*days(*[12.0, 20.0] * 6, *[2.0, 6.0] * 4)), NOON)
    assert told.rate == 0
    assert told.weather is not None
    assert told.variance(np.array([100.0])) == 0


def test_given_days_that_are_over_are_refused():
    with pytest.raises(UsageError, match="end on 2026-03-09"):
        temperature_course(
            known(*days(*[15.0] * 20)), NOON, FutureTemperature(daily=days(20.0, 20.0))
        )


def test_gaps_are_filled_and_said():
    record = (*days(*[12.0] * 4), *days(*[22.0] * 13, first=LAID + timedelta(7)))
    told = temperature_course(known(*record), NOON)
    (gap,) = told.notices
    assert (len(gap.filled), gap.unknown) == (3, ())
    assert rate_between(told, LAID + timedelta(4), LAID + timedelta(7)) == pytest.approx(9.0)


def test_longer_gaps_stay_unknown_and_what_comes_after_counts():
    record = (*days(*[12.0] * 4), *days(*[22.0] * 12, first=LAID + timedelta(8)))
    told = temperature_course(known(*record), NOON)
    (gap,) = told.notices
    assert gap.unknown == tuple(LAID + timedelta(step) for step in range(4, 8))
    begins = eggs(1).cohort.clock.midnights(LAID + timedelta(8), 0)[0]
    assert told.begins == pytest.approx(begins)
    assert (told.celsius, told.rate) == (pytest.approx(22.0), pytest.approx(22.0 - LOWER))
    days_on = np.array([begins, begins + 2.5, begins + 40])
    assert told.day(told.amount(days_on)) == pytest.approx(days_on)
    assert np.diff(told.amount(np.array([begins + 3, begins + 5]))) == pytest.approx(
        2 * (22.0 - LOWER)
    )


def test_a_record_that_ended_goes_on_as_it_ended_and_that_is_said():
    told = temperature_course(known(*days(*[15.0] * 5, *[20.0] * 7)), NOON)
    remedy = "to fill it: rearlog temps tiny --min MIN --max MAX --on 2026-03-20"
    assert said(told) == (f"No temperature since 2026-03-19; {remedy}",)
    assert rate_between(told, TODAY - timedelta(3), TODAY) == pytest.approx(20.0 - LOWER)


def without_record(**more):
    log = eggs(3, **more)
    return replace(log, all_temperatures=())


def test_without_a_record_the_planned_temperature_is_taken():
    log = without_record()
    planned = replace(log, cohort=replace(log.cohort, planned_celsius=23.0))
    told = temperature_course(planned, NOON)
    assert told.rate == pytest.approx(23.0 - LOWER)
    assert "23 °C, as planned" in said(told)[0]


def test_without_a_plan_the_given_temperature_is_taken_for_the_past_too():
    told = temperature_course(without_record(), NOON, FutureTemperature(21.0))
    assert rate_between(told, LAID, TODAY) == pytest.approx(21.0 - LOWER)
    assert "as given" in said(told)[0]


def test_without_any_temperature_days_are_counted():
    told = temperature_course(without_record(), NOON)
    assert (told.unit, told.celsius, told.curve) == ("days", None, None)
    assert told.day(told.amount(np.array([3.25]))) == pytest.approx(3.25)


def test_without_a_threshold_the_mean_temperature_is_still_known():
    told = temperature_course(
        known(*days(*[15.0] * 13, *[21.0] * 7), profile=moth(lower=None)), NOON
    )
    assert (told.unit, told.celsius) == ("days", pytest.approx(21.0))


def test_an_open_constant_reaches_to_the_present():
    told = temperature_course(known(ConstantTemperature(19.0, date(2026, 3, 1))), NOON)
    assert said(told) == ()
    assert told.celsius == pytest.approx(19.0)


def test_days_and_amounts_are_inverse():
    told = temperature_course(known(*days(*range(12, 32), spread=3.0)), NOON)
    at = np.linspace(0.0, 60.0, 200)
    assert told.day(told.amount(at)) == pytest.approx(at)


def test_a_room_that_clearly_warms_goes_on_and_that_is_told():
    record = days(*(15 + 0.25 * step + 0.2 * (-1) ** step for step in range(20)))
    told = temperature_course(known(*record), NOON)
    assert told.basis is not None
    assert told.basis.trend == pytest.approx(0.25, abs=0.05)
    lately = told.basis.celsius - LOWER
    assert rate_between(told, TODAY + timedelta(9), TODAY + timedelta(10)) > lately + 2
    assert rate_between(told, TODAY + timedelta(99), TODAY + timedelta(100)) < lately + 7
    assert told.rate == pytest.approx(lately)


def test_the_weather_widens_by_the_days_that_there_are_to_come():
    """Where it gets warmer, as many degree-days come in fewer days, and by these it is counted."""
    for step in (0.25, -0.25):
        record = days(*(20 + step * day + 0.2 * (-1) ** day for day in range(20)))
        told = temperature_course(known(*record), NOON)
        assert told.weather is not None
        ahead = np.array([2.0, 10.0, 25.0])
        amounts = told.amount(told.now + ahead)
        assert told.variance(amounts) == pytest.approx(told.weather.variance(ahead))
