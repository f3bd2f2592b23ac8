import numpy as np
import pytest

from rearlog.analysis.forecasting.phases import DaysOnly, phases
from rearlog.analysis.stages.profile_values import SpreadAssumed
from rearlog.records.profile import Quantity, Span
from rearlog.species.catalogue import bundled, find
from tests.analysis.invented_moth import MEAN_DD, SD_DD, moth, number, stage

RATE = 12.0


def test_every_stage_with_a_value_is_a_phase():
    found = phases(moth(), "degree-days", RATE)
    assert found.mean.tolist() == list(MEAN_DD.values())
    assert found.sd.tolist() == list(SD_DD.values())
    assert found.of_stage.tolist() == [0, 1, 2, 3, 4, 5]


def test_a_span_stands_for_stages_that_have_no_value():
    """Black swallowtail: only the larva as a whole is known, 10 to 30 days (from memory)."""
    found = phases(find("black-swallowtail"), "days", np.nan)
    assert [found.name(place) for place in range(3)] == ["egg", "L1 to L5", "pupa"]
    assert found.mean.tolist() == [6.5, 20.0, 13.5]
    assert found.of_stage.tolist() == [0, 1, 1, 1, 1, 1, 2, 3]


def test_a_varying_number_of_instars_is_taken_together():
    """Mealworm: 9 to over 20 instars (common practice), so its larva is one phase."""
    found = phases(find("mealworm"), "days", np.nan)
    assert [found.name(place) for place in range(3)] == ["egg", "L1 to L22", "pupa"]


def test_the_whole_life_does_not_swallow_stages_for_one_that_may_be_passed_over():
    """Tobacco hornworm: five instars, sometimes six (from memory)."""
    found = phases(find("tobacco-hornworm"), "degree-days", RATE)
    sixth = found.of_stage[found.stages.index("L6")]
    assert found.phases[sixth].optional
    assert np.isnan(found.mean[sixth])
    assert found.stages[found.next_stage(sixth - 1)] == "pupa"
    assert not np.isnan(np.delete(found.mean, sixth)).any()


def test_days_at_a_temperature_become_degree_days():
    """10 days at 20 °C above a threshold of 8 °C are 120 degree-days; at most to the upper one."""
    days = number(10.0, sd=1.0, at_celsius=(19.0, 21.0))
    in_days = stage("L2", degree_days=None, days=days)
    found = phases(moth(in_days), "degree-days", RATE)
    assert (found.mean[2], found.sd[2]) == pytest.approx((120.0, 12.0))
    assert found.phases[2].assumed == (DaysOnly("L2", 10.0, rate=12.0),)
    capped = phases(moth(in_days, upper=number(18.0)), "degree-days", RATE)
    assert capped.mean[2] == pytest.approx(100.0)


def test_days_of_no_known_temperature_are_spent_at_the_rate_to_come():
    profile = moth(stage("pupa", degree_days=None, days=number(low=8.0, high=12.0)))
    found = phases(profile, "degree-days", RATE)
    assert found.mean[4] == pytest.approx(10 * RATE)
    assert found.phases[4].assumed == (DaysOnly("pupa", 10.0, rate=None),)


def test_a_stage_without_any_value_is_not_known():
    found = phases(moth(stage("L3", degree_days=None)), "degree-days", RATE)
    assert np.isnan(found.mean).tolist() == [False, False, False, True, False]


def test_an_assumed_spread_is_said():
    found = phases(moth(stage("L1", degree_days=Quantity("invented", 40.0))), "degree-days", RATE)
    assert found.sd[1] == pytest.approx(4.0)
    assert found.phases[1].assumed == (SpreadAssumed("L1", 0.1),)


def test_the_shortest_span_that_helps_is_taken():
    unknown = [stage(code, degree_days=None) for code in ("L1", "L2")]
    spans = (
        Span("egg", "adult", "life", degree_days=number(345.0)),
        Span("L1", "pupa", "larva", degree_days=number(155.0)),
        Span("L1", "L3", "young larva", degree_days=number(80.0)),
    )
    found = phases(moth(*unknown, spans=spans), "degree-days", RATE)
    assert found.mean.tolist() == [60.0, 80.0, 75.0, 130.0]
    without = phases(moth(*unknown, spans=spans[:1]), "degree-days", RATE)
    assert without.mean.tolist() == [345.0]


@pytest.mark.parametrize("listing", bundled(), ids=lambda each: each.id)
@pytest.mark.parametrize("unit", ["degree-days", "days"])
def test_phases_follow_each_other_through_every_bundled_profile(listing, unit):
    profile = find(listing.id)
    found = phases(profile, unit, RATE).phases
    assert found[0].first == 0
    assert [each.until for each in found] == [each.first for each in found[1:]] + [
        len(profile.codes) - 1
    ]
