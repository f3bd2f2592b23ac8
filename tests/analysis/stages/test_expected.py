"""What a profile leads one to expect: ranges, sums and verdicts worked out by hand."""

from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import norm

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, HeatSettings, heat_curve
from rearlog.analysis.stages.expected import (
    BasisKind,
    OtherThresholds,
    Timing,
    basis,
    expectation,
    expected_days,
    quantities,
    range_of,
    verdict,
)
from rearlog.analysis.stages.profile_values import measured_near
from rearlog.records.log import ConstantTemperature, DayExtremes
from rearlog.records.profile import Profile, Quantity, Span
from tests.builders import START, small_profile, tiny_log

DAYS = {
    "egg": Quantity("test", value=4.0, sd=0.5, at_celsius=(20.0, 24.0)),
    "L1": Quantity("test", low=2.0, high=3.5, at_celsius=(22.0, 26.0)),
    "L2": Quantity("test", value=5.0, sd=3.0),
    "L3": Quantity("test", value=9.0, sd=1.0),
}


def profile(heat: dict[str, float] | None = None, *spans: Span) -> Profile:
    """Days of four stages (the last one optional), and degree-days above 10 °C."""
    plain = small_profile(heat=heat)
    stages = tuple(replace(each, days=DAYS.get(each.code)) for each in plain.stages)
    return replace(plain, stages=stages, spans=spans)


def curve(celsius: float, days: int = 30, lower: float = 10.0) -> HeatCurve:
    log = tiny_log(
        {"1": "egg" + days * " egg"}, temperatures=(ConstantTemperature(celsius, START.date()),)
    )
    return heat_curve(lay_out(log), HeatSettings(lower, None, "single-sine", "horizontal"))


def test_a_range_holds_95_percent_of_individuals_and_begins_at_0() -> None:
    found = range_of(DAYS["egg"])
    assert found == pytest.approx(norm.interval(0.95, 4.0, 0.5), abs=1e-4)
    assert range_of(Quantity("test", value=3.0, sd=0.2, low=2.0, high=3.5)) == (2.0, 3.5)
    assert range_of(Quantity("test", value=3.0)) == (3.0, 3.0)
    assert range_of(Quantity("test", value=3.0, low=2.9)) == (3.0, 3.0)
    assert range_of(Quantity("test", value=3.0, high=3.1)) == (3.0, 3.0)
    low, high = range_of(DAYS["L2"])
    assert (low, high) == (0.0, pytest.approx(5 + 1.96 * 3))


@pytest.mark.parametrize(
    ("here", "near"), [(19.4, False), (19.5, True), (22, True), (24.5, True), (24.6, False)]
)
def test_half_a_degree_beside_what_was_measured_is_near(here: float, near: bool) -> None:
    assert measured_near((20.0, 24.0), here) == near


def test_stages_are_added_up_low_to_low_without_the_optional_one() -> None:
    found = expectation(profile(), "egg", "pupa")
    egg_low, egg_high = 4 - 0.98, 4 + 0.98
    assert found.days == pytest.approx((egg_low + 2 + 0, egg_high + 3.5 + 5 + 5.88))
    assert found.days_celsius == (22.0, 24.0)  # what the values have in common
    assert (found.heat, found.heat_celsius) == (None, None)
    assert [source.citation for source in found.sources] == ["made for a test"]
    assert expectation(profile(), "L2", "pupa").days_celsius is None
    assert expectation(profile(), "pupa", "adult").days is None
    assert expectation(profile(), "L1", "adult").days is None  # the pupa's are not known


def test_a_span_that_is_known_as_a_whole_is_taken_as_such() -> None:
    whole = Quantity("test", value=12.0, sd=1.0)
    known = profile(
        {"egg": 40.0},
        Span("egg", "L2", "young", days=whole),
        Span("egg", "L1", "egg", degree_days=replace(whole, value=50.0)),
        Span("egg", "L1", "egg", degree_days=replace(whole, value=70.0)),
    )
    assert quantities(known, "egg", "L2", "days") == (whole,)
    assert expectation(known, "egg", "L2").days == pytest.approx((12 - 1.96, 12 + 1.96))
    assert expectation(known, "egg", "L1").heat == pytest.approx((50 - 1.96, 50 + 1.96))
    assert expectation(known, "egg", "L1").days == pytest.approx((4 - 0.98, 4 + 0.98))
    assert quantities(known, "L1", "L2", "days") == (DAYS["L1"],)


def test_heat_makes_days_at_the_cohorts_own_temperature() -> None:
    """40 degree-days, SD 4: at 20 °C 10 a day, at 30 °C 20 a day."""
    hope = expectation(profile({"egg": 40.0}), "egg", "L1")
    for celsius, a_day in ((20.0, 10), (30.0, 20)):
        low, high = expected_days(hope, np.array([0.0, 3.3]), curve(celsius))
        assert low == pytest.approx((40 - 7.84) / a_day)
        assert high == pytest.approx((40 + 7.84) / a_day)
    without = expected_days(hope, np.array([1.0]), None)
    assert [each.tolist() for each in without] == [
        [pytest.approx(4 - 0.98)],
        [pytest.approx(4 + 0.98)],
    ]
    # before the record began nothing is known of the heat: the profile's days stand in
    early = expected_days(hope, np.array([-5.0, 0.0]), curve(20.0))
    assert early[0].tolist() == pytest.approx([4 - 0.98, 3.216])
    nothing = expected_days(expectation(small_profile(), "egg", "L1"), np.array([1.0]), None)
    assert np.isnan(nothing).all()


def test_heat_counted_from_other_thresholds_is_left_out() -> None:
    known = profile({"egg": 40.0})
    how = HeatSettings(10.0, None, "single-sine", "horizontal")
    assert expectation(known, "egg", "L1", how).other_thresholds is None
    found = expectation(known, "egg", "L1", replace(how, lower=8.0, upper=30.0))
    assert found.other_thresholds == OtherThresholds(10.0, None, 8.0, 30.0)
    assert (found.heat, found.days) == (None, pytest.approx((3.02, 4.98)))
    capped = replace(known, upper=Quantity("test", value=33.0))
    assert expectation(capped, "egg", "L1", replace(how, upper=33.0)).heat is not None
    assert expectation(capped, "egg", "L1", how).heat is None


def test_what_the_expected_days_rest_on() -> None:
    known = profile({"egg": 40.0})
    egg = replace(known.stages[0], degree_days=replace(DAYS["egg"], value=40.0, sd=4.0))
    known = replace(known, stages=(egg, *known.stages[1:]))
    hope = expectation(known, "egg", "L1")
    found = basis(hope, 1.0, curve(22.0))
    assert (found.kind, found.lower, found.extrapolated) == (BasisKind.HEAT, 10.0, False)
    assert found.degree_days == pytest.approx((40 - 7.84, 40 + 7.84))
    assert (found.measured_celsius, found.celsius) == ((20.0, 24.0), pytest.approx(22.0))
    assert basis(hope, 1.0, curve(27.0)).extrapolated
    for start, heat in ((1.0, None), (np.nan, curve(22.0)), (-9.0, curve(22.0))):
        by_days = basis(hope, start, heat)
        assert (by_days.kind, by_days.measured_celsius) == (BasisKind.DAYS, (20.0, 24.0))
    assert basis(expectation(known, "pupa", "adult"), 1.0, None).kind is BasisKind.NOTHING


def test_the_temperature_of_days_to_come_is_that_of_the_days_known() -> None:
    """The record ends on the second day; the heat will have come together later. From nine in the
    morning on 15 hours had 18 °C and 24 had 26 °C."""
    days = tuple(
        DayExtremes(START.date() + timedelta(days=day), celsius, celsius)
        for day, celsius in enumerate((18.0, 26.0))
    )
    log = tiny_log({"1": "egg egg"}, temperatures=days)
    short = heat_curve(lay_out(log), HeatSettings(10.0, None, "single-sine", "horizontal"))
    hope = expectation(profile({"egg": 40.0}), "egg", "L1")
    assert basis(hope, 0.0, short).celsius == pytest.approx((15 * 18 + 24 * 26) / 39)
    assert basis(hope, float(short.knots[-1]), short).celsius is None


@pytest.mark.parametrize(
    ("value", "said", "off"),
    [
        (1.9, Timing.SHORTER, 0.1),
        (1.94, Timing.SHORTER, 0.06),
        (1.96, Timing.AS_EXPECTED, 0.04),  # which is written as 0.0
        (3.0, Timing.AS_EXPECTED, 0.0),
        (4.04, Timing.AS_EXPECTED, 0.04),
        (4.06, Timing.LONGER, 0.06),
        (7.0, Timing.LONGER, 3.0),
    ],
)
def test_a_difference_that_is_not_written_is_none(value: float, said: Timing, off: float) -> None:
    assert verdict(value, (2.0, 4.0)) == (said, pytest.approx(off))
    assert verdict(value, None) == (Timing.NOTHING_EXPECTED, None)


def test_a_gap_is_told_from_a_twentieth_of_a_day_on() -> None:
    assert verdict(0.05, (0.0, 0.0)) == (Timing.LONGER, 0.05)
    assert verdict(0.04, (0.0, 0.0)) == (Timing.AS_EXPECTED, 0.04)
    assert verdict(1.0, (1.5, 2.0)) == (Timing.SHORTER, 0.5)
