"""The heat that stages take, by hand, above 10 °C."""

import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.heat_needs import HeatFromDays, needs
from rearlog.analysis.stages.profile_values import (
    Extrapolation,
    SpreadAssumed,
    StagesPassedOver,
    beyond_measured,
    spread_of,
    steady_rate,
)
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile, Quantity
from tests.builders import small_profile

HEAT = {"egg": 40.0, "L1": 30.0, "L2": 35.0, "pupa": 90.0}


def with_days(stage: str, days: Quantity, upper: float | None = None) -> Profile:
    """A profile that has no heat of one stage, but days."""
    plain = small_profile(heat=HEAT)
    stages = tuple(
        replace(each, degree_days=None, days=days) if each.code == stage else each
        for each in plain.stages
    )
    limit = None if upper is None else Quantity("test", value=upper)
    return replace(plain, stages=stages, upper=limit)


def test_heat_and_spread_stage_by_stage() -> None:
    found = needs(small_profile(heat=HEAT))
    assert found.mean.tolist() == [40, 30, 35, 0, 90]  # nobody passes through the optional one
    assert found.sd.tolist() == pytest.approx([4, 3, 3.5, 0, 9])
    assert found.optional.tolist() == [False, False, False, True, False, False]
    assert (found.lower, found.upper) == (10, None)
    assert found.assumptions == (StagesPassedOver(("L3",)),)


@pytest.mark.parametrize(("upper", "rate"), [(None, 12.0), (33.0, 12.0), (20.0, 10.0)])
def test_days_at_a_temperature_are_turned_into_heat(upper: float | None, rate: float) -> None:
    days = Quantity("test", value=5.0, sd=0.5, at_celsius=(20.0, 24.0))
    found = needs(with_days("L1", days, upper))
    assert found.mean[1] == pytest.approx(5 * rate)
    assert found.sd[1] == pytest.approx(0.5 * rate)
    assert HeatFromDays("L1", 5.0, rate) in found.assumptions


def test_a_tenth_of_the_mean_is_the_spread_where_none_is_given() -> None:
    found = needs(with_days("L1", Quantity("test", value=5.0, at_celsius=(20.0, 20.0))))
    assert (found.mean[1], found.sd[1]) == pytest.approx((50, 5))
    assert SpreadAssumed("L1", 0.1) in found.assumptions


@pytest.mark.parametrize(
    "days",
    [
        Quantity("test", value=5.0),  # at which temperature?
        Quantity("test", value=5.0, at_celsius=(9.0, 11.0)),  # at which nothing develops
    ],
)
def test_heat_that_cannot_be_known_is_asked_for(days: Quantity) -> None:
    with pytest.raises(UsageError, match="L1"):
        needs(with_days("L1", days))
    with pytest.raises(UsageError, match="threshold"):
        needs(small_profile(heat=HEAT, lower=None))


def test_a_range_that_holds_95_percent_reaches_1_96_sd_to_both_sides() -> None:
    assert spread_of(Quantity("test", low=10.0, high=13.92)) == pytest.approx(1.0)
    assert spread_of(Quantity("test", value=11.0, sd=0.7, low=10.0, high=13.92)) == 0.7
    assert spread_of(Quantity("test", low=10.0, high=10.0)) is None
    assert spread_of(Quantity("test", value=10.0)) is None


def test_a_temperature_above_the_upper_threshold_is_worth_no_more() -> None:
    assert steady_rate(25.0, 10.0, None) == 15
    assert steady_rate(25.0, 10.0, 20.0) == 10
    assert steady_rate(8.0, 10.0, 20.0) == -2


def test_stages_measured_at_other_temperatures_are_named_together() -> None:
    def at(*celsius: float) -> Quantity:
        return Quantity("test", value=40.0, sd=4.0, at_celsius=(celsius[0], celsius[-1]))

    measured = {"egg": at(20), "L1": at(18, 24), "L2": at(20), "L3": at(20), "pupa": at(26)}
    plain = small_profile(heat=HEAT)
    stages = [replace(each, degree_days=measured.get(each.code)) for each in plain.stages]
    stages[4] = replace(stages[4], degree_days=None, days=measured["pupa"])
    assert list(beyond_measured(stages, 23.0)) == [
        Extrapolation(("egg", "L2"), (20, 20), 23.0),
        Extrapolation(("pupa",), (26, 26), 23.0),
    ]
    assert list(beyond_measured(stages, 20.4)) == [Extrapolation(("pupa",), (26, 26), 20.4)]
