"""Heat as a function of time: values by hand, at 10 °C as lower threshold unless said."""

from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, heat_curve, settings
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from rearlog.records.profile import Quantity
from tests.builders import START, moment, small_profile, tiny_log

DAY0 = START.date()
NINE = 9 / 24
HOUR = 3600


def on(offset: int) -> date:
    return DAY0 + timedelta(days=offset)


def curve(
    *records: Temperature,
    days: int,
    upper: float | None = None,
    method: str | None = None,
    cutoff: str = "horizontal",
) -> HeatCurve:
    log = tiny_log({"1": "egg" + " egg" * days}, temperatures=records)
    temperatures = lay_out(log)
    how = settings(log.cohort.species, temperatures, upper=upper, method=method, cutoff=cutoff)
    return heat_curve(temperatures, how)


def steady(*celsius: float) -> tuple[DayExtremes, ...]:
    return tuple(DayExtremes(on(day), each, each) for day, each in enumerate(celsius))


def test_what_is_outside_the_record_is_not_known() -> None:
    found = curve(*steady(20, 20, 20), days=2)
    first, last = -NINE, 3 - NINE
    assert found.between(first, last) == pytest.approx(30)
    assert found.between(first - 1e-12, last + 1e-12) == pytest.approx(30)  # a rounding error
    assert np.isnan(found.between([first - 0.01, first], [last, last + 0.01])).all()
    assert np.isnan(found.mean_celsius([first - 0.01, first], [last, last + 0.01])).all()


def test_the_mean_temperature_of_no_time_is_not_known() -> None:
    found = curve(*steady(20, 26, 20), days=2)
    assert np.isnan(found.mean_celsius(1, 1))
    assert found.mean_celsius(1 - NINE, 2 - NINE) == pytest.approx(26)
    assert found.mean_celsius(0.5 - NINE, 1.5 - NINE) == pytest.approx(23)


def test_the_usual_temperature_needs_half_of_the_days() -> None:
    """Of eight days four at 21 °C are known, and the days before the record are not."""
    found = curve(*steady(21, 21, 21, 21), days=7)
    first = -NINE
    assert found.usual_celsius(first, first + 8) == pytest.approx(21)
    assert found.usual_celsius(first - 0.1, first + 8) is None
    assert found.usual_celsius(first + 3, first + 5) == pytest.approx(21)
    assert found.usual_celsius(first + 4, first + 5) is None
    assert found.usual_celsius(first, first) is None


def test_the_usual_temperature_past_the_last_look_is_a_number_like_others() -> None:
    found = curve(*steady(21, 21, 21, 21), days=3)
    assert type(found.usual_celsius(-NINE, 8 - NINE)) is float  # JSON has no other


def test_the_recent_rate_is_that_of_the_last_seven_known_days() -> None:
    long = curve(*steady(40, 40, *[17.0] * 6, 24.0), days=8)
    assert long.recent_rate() == pytest.approx((6 * 7 + 14) / 7)
    assert long.recent_rate(4) == pytest.approx((30 + 30 + 7 + 7) / 4)
    assert long.recent_celsius(4) == pytest.approx((40 + 40 + 17 + 17) / 4)
    assert np.isnan(long.recent_rate(0))
    gap = [DayExtremes(on(day), 20, 20) for day in (0, 1, 2)]
    found = curve(*gap, DayExtremes(on(8), 30, 30), days=8)
    assert found.recent_rate() == pytest.approx((3 * 10 + 20) / 4)
    assert np.isnan(curve(days=3).recent_rate())


def test_beyond_the_last_day_heat_goes_on_at_the_recent_rate() -> None:
    found = curve(*steady(20, 20, 32), days=2)
    end = 3 - NINE
    rate = (10 + 10 + 22) / 3
    assert found.at([end, end + 2]).tolist() == pytest.approx([42, 42 + 2 * rate])
    assert found.at(end + 0.5) == pytest.approx(42 + rate / 2)
    assert found.at(1 - NINE) == pytest.approx(10)
    assert found.when(end - 1, 22 + rate / 2) == pytest.approx(end + 0.5)
    assert found.when(-NINE, 42) == pytest.approx(end)


def test_no_day_is_known_across_days_without_a_temperature() -> None:
    found = curve(DayExtremes(on(0), 20, 20), DayExtremes(on(6), 20, 20), days=6)
    assert np.isnan(found.when(-NINE, 15))
    assert found.when(-NINE, 5) == pytest.approx(0.5 - NINE)
    assert found.when(6 - NINE, 5) == pytest.approx(6.5 - NINE)
    assert np.isnan(found.between(0.9, 1.1))


def test_heat_that_is_complete_does_not_wait_for_the_cold_to_pass() -> None:
    """Days at 5 °C bring none: the total stands still from the end of the first day on."""
    assert curve(*steady(20, 5), days=1).when(-NINE, 10.0) == pytest.approx(1 - NINE)
    found = curve(*steady(20, 5, 5, 20), days=3)
    assert found.when(-NINE, 10.0) == pytest.approx(1 - NINE)
    assert found.when([1.7 - NINE, 2.2 - NINE], 0.0).tolist() == pytest.approx(
        [1.7 - NINE, 2.2 - NINE]
    )


def test_readings_above_the_upper_threshold_by_the_intermediate_cutoff() -> None:
    """At 50 °C a day is worth (50 − 10) − 2 × (50 − 30) = 0; at 55 °C −5, which counts as 0."""
    hours = tuple(HOUR * hour for hour in range(73))
    celsius = tuple(20.0 if hour <= 24 else 55.0 for hour in range(73))
    logger = Readings(moment(-NINE), hours, celsius)
    found = curve(logger, days=2, upper=30, cutoff="intermediate")
    assert found.settings.method == "readings"
    # on the second day the temperature jumps within its first hour: a line from 20 to 55 °C
    assert found.daily[[0, 2]].tolist() == pytest.approx([10, 0])
    assert found.daily[1] == 0
    assert found.total[-1] == pytest.approx(10)
    assert found.between(1 - NINE, 3 - NINE) == pytest.approx(0)
    assert found.mean_celsius(2 - NINE, 3 - NINE) == pytest.approx(55)


def test_days_that_the_logger_does_not_cover_take_the_single_sine() -> None:
    hours = tuple(range(0, 25))
    logger = Readings(moment(-NINE), tuple(HOUR * hour for hour in hours), (30.0,) * 25)
    found = curve(logger, DayExtremes(on(1), 5, 15), DayExtremes(on(2), 8, 22), days=2)
    # published in the tables of the single sine: 1.5915 and 5.3256
    assert found.daily.tolist() == pytest.approx([20, 1.5915, 5.3256], abs=1e-4)
    assert found.between(0.5 - NINE, 1 - NINE) == pytest.approx(10)
    assert found.mean_celsius(1 - NINE, 3 - NINE) == pytest.approx((10 + 15) / 2)
    triangle = curve(logger, DayExtremes(on(1), 5, 15), days=1, method="single-triangle")
    assert triangle.daily.tolist() == pytest.approx([20, 1.25], abs=1e-4)


def test_readings_count_to_the_minute_where_the_logger_covers_the_day() -> None:
    """From 10 to 34 °C and back, 2 °C an hour: above 22 °C for 12 of the 24 hours."""
    hours = np.arange(0, 25, 0.5)
    celsius = 34 - 2 * np.abs(hours - 12)
    logger = Readings(moment(-NINE), tuple(int(HOUR * each) for each in hours), tuple(celsius))
    found = curve(logger, days=1)
    for begin, end in ((0, 12), (3.5, 4), (10, 14)):
        spans = [(begin, min(end, 12)), (12, end)] if end > 12 else [(begin, end)]
        wanted = sum(abs((b - 12) ** 2 - (a - 12) ** 2) for a, b in spans)
        wanted = 24 * (end - begin) - wanted  # ∫ (24 − 2·|h − 12|) dh
        low, high = begin / 24 - NINE, end / 24 - NINE
        assert 24 * found.between(low, high) == pytest.approx(wanted)
        assert found.mean_celsius(low, high) == pytest.approx(10 + wanted / (end - begin))


def test_thresholds_and_method_come_from_the_profile_unless_they_are_given() -> None:
    profile = replace(small_profile(), upper=Quantity("test", value=33.0))
    laid = lay_out(tiny_log({"1": "egg egg"}, temperatures=(ConstantTemperature(20, DAY0),)))
    usual = settings(profile, laid)
    assert (usual.lower, usual.upper) == (10, 33)
    assert (usual.method, usual.cutoff) == ("single-sine", "horizontal")
    chosen = settings(profile, laid, 8.0, 30.0, "average", "vertical")
    assert (chosen.lower, chosen.upper, chosen.method, chosen.cutoff) == (
        8, 30, "average", "vertical",
    )  # fmt: skip
    for lower, upper in ((33.0, None), (40.0, None), (12.0, 12.0)):
        with pytest.raises(UsageError, match="not above the lower"):
            settings(profile, laid, lower, upper)
    assert settings(small_profile(), laid).upper is None


def test_a_logger_that_ran_before_the_cohort_began_and_on_its_last_day_alone() -> None:
    """Two days before the first egg at 40 °C, then nothing, then a day from 10 °C up."""
    early = Readings(moment(-2 - NINE), tuple(range(0, 24 * HOUR, HOUR)), (40.0,) * 24)
    climb = Readings(
        moment(1 - NINE),
        tuple(HOUR * hour for hour in range(24)),
        tuple(10.0 + hour for hour in range(24)),
    )
    found = curve(early, DayExtremes(on(0), 20, 20), climb, days=1)
    assert found.knots[0] == pytest.approx(-NINE)
    # 1 °C an hour until 23:00, and as warm as then for the hour that is left
    assert found.daily.tolist() == pytest.approx([10, (23**2 / 2 + 23) / 24])
    assert found.between(1 - NINE, 1.25 - NINE) == pytest.approx(6**2 / 2 / 24)
    assert found.mean_celsius(1 - NINE, 1.25 - NINE) == pytest.approx(13)


def test_a_little_heat_goes_on_too() -> None:
    found = curve(*steady(10.5, 10.5), days=1)
    assert found.when(2 - NINE, 3.0) == pytest.approx(2 - NINE + 6)
