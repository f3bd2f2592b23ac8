from datetime import date, datetime, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, heat_curve, settings
from rearlog.analysis.stages.durations import Durations, durations
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.stage_heat import Heat, heat
from rearlog.records.errors import UsageError
from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Mark,
    Readings,
    Temperature,
)
from rearlog.records.times import at_clock
from rearlog.sentences.stage_heat import no_expected
from tests.builders import START, moment, small_profile, tiny_log

DAY0 = START.date()


def day(offset: int, low: float, high: float) -> DayExtremes:
    return DayExtremes(DAY0 + timedelta(days=offset), low, high)


def curve_of(log: CohortLog, **chosen: object) -> HeatCurve:
    temperatures = lay_out(log)
    return heat_curve(
        temperatures,
        settings(log.cohort.species, temperatures, **chosen),  # type: ignore[arg-type]
    )


def watched(days: int, *records: Temperature) -> CohortLog:
    return tiny_log({"1": "egg " + "egg " * days}, temperatures=records)


def test_a_constant_temperature_gives_its_excess_a_day() -> None:
    curve = curve_of(watched(4, ConstantTemperature(22.0, DAY0)))
    assert curve.between(0.25, 3.75) == pytest.approx(3.5 * 12)
    assert curve.mean_celsius(0, 4) == pytest.approx(22)


def test_a_part_of_a_day_counts_in_proportion() -> None:
    curve = curve_of(watched(2, day(0, 15, 25), day(1, 20, 30), day(2, 20, 30)))
    # from 9:00 on the first day (15 hours at 10 DD a day) to 9:00 on the second (9 at 15)
    assert curve.between(0, 1) == pytest.approx(10 * 15 / 24 + 15 * 9 / 24)


def test_readings_are_integrated_between_any_two_moments() -> None:
    """A straight climb from 10 to 34 °C in a day is 1 °C an hour: ∫ = t²/2 degree-hours."""
    midnight = moment(-9 / 24)
    log = watched(1, Readings(midnight, (0, 43_200, 86_400, 129_600), (10.0, 22.0, 34.0, 34.0)))
    curve = curve_of(log)
    assert curve.settings.method == "single-sine"  # readings 12 hours apart tell no curve
    fine = tuple(range(0, 2 * 86_400 + 1, 3600))
    celsius = tuple(min(34.0, 10 + second / 3600) for second in fine)
    curve = curve_of(watched(1, Readings(midnight, fine, celsius)))
    assert curve.settings.method == "readings"
    assert curve.between(0, 9 / 24) == pytest.approx((18**2 - 9**2) / 2 / 24)


def test_readings_win_over_a_days_extremes_and_those_over_a_constant() -> None:
    midnight = moment(-9 / 24)
    seconds = tuple(range(0, 86_400 + 1, 3600))
    log = watched(
        3,
        ConstantTemperature(12.0, DAY0, DAY0 + timedelta(days=2)),
        day(0, 20, 20),
        day(1, 30, 30),
        Readings(midnight, seconds, (25.0,) * len(seconds)),
    )
    assert lay_out(log).minimum[:3].tolist() == [25, 30, 12]


@pytest.mark.parametrize(("gap", "filled", "missing"), [(1, 1, 0), (3, 3, 0), (4, 0, 4)])
def test_gaps_up_to_three_days_are_filled(gap: int, filled: int, missing: int) -> None:
    log = watched(gap + 1, day(0, 10, 20), day(gap + 1, 10 + gap + 1, 20 + gap + 1))
    laid = lay_out(log)
    assert [(laid.status == kind).sum() for kind in range(3)] == [2, filled, missing]
    if filled:
        assert laid.minimum.tolist() == pytest.approx([10 + n for n in range(gap + 2)])
    curve = curve_of(log)
    assert np.isnan(curve.between(0, gap + 1)) == (missing > 0)
    assert len(laid.missing_dates) == missing


def test_the_day_the_clocks_change_has_23_hours_of_heat() -> None:
    zone = "Europe/London"
    start = at_clock(date(2026, 3, 28), "09:00", zone)
    log = tiny_log({}, temperatures=(ConstantTemperature(34.0, date(2026, 3, 28)),), zone=zone)
    log = replace(
        log,
        cohort=replace(log.cohort, started=start),
        all_temperatures=(
            ConstantTemperature(34.0, date(2026, 3, 28)),
            DayExtremes(date(2026, 3, 30), 34.0, 34.0),
        ),
    )
    assert curve_of(log).daily.tolist() == pytest.approx([24, 23, 24])
    nothing = curve_of(replace(log, all_temperatures=(DayExtremes(date(2026, 4, 3), 34.0, 34.0),)))
    assert np.diff(nothing.unknown).tolist() == pytest.approx([1, 23 / 24, 1, 1, 1, 1, 0])


def test_a_struck_check_does_not_lengthen_the_days() -> None:
    log = watched(2, ConstantTemperature(20.0, DAY0))
    late = replace(log.all_observations[-1], at=moment(20), marks=(Mark(moment(3), "typo"),))
    log = replace(log, all_observations=(*log.all_observations, late))
    assert len(lay_out(log).dates) == 3


def test_when_is_the_inverse_of_between_and_goes_on_at_the_recent_rate() -> None:
    curve = curve_of(watched(6, *(day(n, 12 + n, 20 + n) for n in range(7))))
    for start in (0.0, 0.7, 3.2):
        for needed in (5.0, 17.0):
            assert curve.between(start, curve.when(start, needed)) == pytest.approx(needed)
    end = curve.knots[-1]
    rate = curve.total[-1] / (end - curve.knots[0])  # all seven days are recent
    assert curve.when(end, 50.0) == pytest.approx(end + 50 / rate)


def test_heat_that_never_comes_has_no_day() -> None:
    curve = curve_of(watched(3, ConstantTemperature(5.0, DAY0)))
    assert np.isnan(curve.when(0.0, 10.0))


def answer(log: CohortLog) -> Heat:
    return heat("tiny", log.cohort.species, event_history(log), curve_of(log))


def test_each_stage_from_midpoint_to_midpoint_and_each_day_with_its_coverage() -> None:
    log = tiny_log(
        {"1": "egg L1 L1 L2", "2": "egg L1 L1 L1 L2"},
        temperatures=(ConstantTemperature(20.0, DAY0, DAY0 + timedelta(days=2)),),
        profile=small_profile(heat={"L1": 25.0}),
    )
    result = answer(log)
    stage = next(each for each in result.stages if each.stage == "L1")
    assert (stage.n, stage.mean) == (2, pytest.approx(25.0))
    assert stage.expected == pytest.approx((25 - 1.96 * 2.5, 25 + 1.96 * 2.5))
    assert (result.coverage.days, result.coverage.recorded, result.coverage.filled) == (5, 3, 2)
    assert [each.filled for each in result.daily] == [False, False, False, True, True]
    assert result.daily[-1].cumulative == pytest.approx(50)


def test_the_total_is_known_up_to_the_first_day_without_a_temperature() -> None:
    """Ten degree-days a day on three days, and again from the eighth on."""
    records = tuple(day(offset, 20, 20) for offset in (0, 1, 2, 7, 8))
    assert answer(watched(9, *records)).known_total == (30.0, DAY0 + timedelta(2))
    assert answer(watched(9, *records[3:])).known_total == (0.0, None)


def test_totals_are_expected_from_what_had_come_when_half_were_laid() -> None:
    """Laid half a day before the start, which is 21 hours at 10 degree-days a day into the record;
    then 30 ± 1.96 · 3 for the egg and 25 ± 1.96 · 2.5 for L1."""
    profile = small_profile(heat={"egg": 30.0, "L1": 25.0})
    warm = ConstantTemperature(20.0, DAY0 - timedelta(days=1))
    found = answer(tiny_log({"1": "egg egg"}, profile=profile, laid=(-1, 0), temperatures=(warm,)))
    had = 10 * 21 / 24
    told = [(each.stage, each.low - had, each.high - had) for each in found.expected_totals]
    assert told == [
        ("L1", pytest.approx(30 - 1.96 * 3), pytest.approx(30 + 1.96 * 3)),
        ("L2", pytest.approx(55 - 1.96 * 5.5), pytest.approx(55 + 1.96 * 5.5)),
    ]


def test_the_standard_error_counts_the_checks() -> None:
    """All passed together: each end may be ± half a day, which is 5 degree-days at 20 °C."""
    kept = ConstantTemperature(20.0, DAY0)
    lives = {str(n): "egg L1 L1 L1 L2" for n in range(400)}
    stage = next(
        each for each in answer(tiny_log(lives, temperatures=(kept,))).stages if each.stage == "L1"
    )
    assert (stage.mean, stage.sd) == (pytest.approx(30), pytest.approx(0))
    assert stage.se == pytest.approx(10 * (2 / 12) ** 0.5, rel=0.01)


def test_a_profile_without_threshold_asks_for_one() -> None:
    log = tiny_log(
        {"1": "egg egg"},
        profile=small_profile(lower=None),
        temperatures=(ConstantTemperature(20.0, DAY0),),
    )
    with pytest.raises(UsageError, match="--lower"):
        curve_of(log)
    assert curve_of(log, lower=8.0).settings.lower == 8.0


def test_times_of_another_zone_are_the_same_instants() -> None:
    log = watched(2, ConstantTemperature(20.0, DAY0))
    shifted = replace(
        log,
        all_observations=tuple(
            replace(each, at=datetime.fromisoformat(each.at.isoformat()))
            for each in log.all_observations
        ),
    )
    assert curve_of(shifted).between(0, 2) == curve_of(log).between(0, 2)


def test_the_heat_of_the_profile_is_not_expected_above_another_threshold() -> None:
    """Degree-days above 10 °C say nothing of degree-days above 15 °C."""
    log = tiny_log(
        {"1": "egg egg L1", "2": "egg egg L1"},
        profile=small_profile(heat={"egg": 24.0}),
        laid=(0, 0),
        temperatures=(ConstantTemperature(22.0, DAY0),),
    )
    history = event_history(log)

    def egg(**chosen: float) -> tuple[Heat, Durations]:
        curve = curve_of(log, **chosen)
        return (
            heat("tiny", log.cohort.species, history, curve),
            durations("tiny", log.cohort.species, history, curve),
        )

    usual, other, capped = egg(), egg(lower=15.0), egg(upper=20.0)
    assert usual[0].stages[0].expected == pytest.approx((24 - 1.96 * 2.4, 24 + 1.96 * 2.4))
    assert no_expected(usual[0]) is None
    assert usual[1].stages[0].expected is not None
    for found in (other, capped):
        assert found[0].stages[0].expected is None
        assert found[1].stages[0].expected is None
        assert found[0].other_thresholds is not None
        assert found[1].stages[0].rests_on.other_thresholds == found[0].other_thresholds
    assert no_expected(other[0]) == (
        "the profile's degree-days are counted above 10 °C, not above 15 °C"
    )


def test_days_of_23_hours_are_named() -> None:
    """In Vienna the clocks went forward on 29 March 2026, in New York on the 8th, in UTC never."""
    days = tuple(day(step, 16, 24) for step in range(-3, 25))

    def changes(zone: str) -> tuple[date, ...]:
        log = tiny_log({"1": "egg egg"}, zone=zone, laid=(-2, -1), temperatures=days)
        return heat("tiny", log.cohort.species, event_history(log), curve_of(log)).clock_changes

    assert changes("Europe/Vienna") == (date(2026, 3, 29),)
    assert changes("America/New_York") == (date(2026, 3, 8),)
    assert changes("UTC") == ()
