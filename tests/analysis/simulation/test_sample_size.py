from datetime import timedelta
from math import sqrt
from statistics import NormalDist

import numpy as np
import pytest

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.simulation import sample_size as power
from rearlog.analysis.simulation.lives import Chances, live
from rearlog.analysis.simulation.sample_size import PowerAt, sample_size
from rearlog.analysis.stages.heat_needs import needs
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature
from rearlog.sentences.heat_needs import assumed
from rearlog.sentences.sample_size import words
from tests.analysis.invented_moth import (
    LAID,
    LOWER,
    MEAN_DD,
    SD_DD,
    curve_of,
    eggs,
    moth,
    number,
    stage,
)
from tests.analysis.observed_lives import observe

SLOW_PUPA = moth(stage("pupa", degree_days=number(1200.0, sd=120.0)))
"""Its pupa takes 100 days at 20 °C, with an SD of 10: a day more or less does not matter."""


def test_power_is_that_of_the_normal_theory():
    """Reference: the two-sample z test for an SD of 10 days (10.8 at the slower temperature), times
    the efficiency 3/π of the rank test for nearly normal values (Pitman; Hodges & Lehmann 1956)."""
    found = sample_size(SLOW_PUPA, "pupa", celsius=20.0, difference_days=8.0, runs=200)
    sd = sqrt((10.0**2 + 10.8**2) / 2)
    for tried in found.table:
        z = 8.0 / sd * sqrt(tried.n / 2 * 3 / 3.14159) - NormalDist().inv_cdf(0.975)
        if tried.n >= 24:
            assert tried.power == pytest.approx(NormalDist().cdf(z), abs=0.08)
    needed = 2 * (sd / 8.0 * (1.96 + 0.8416)) ** 2 * 3.14159 / 3
    assert found.n == pytest.approx(needed, rel=0.15)


def test_a_difference_that_is_not_there_is_shown_in_five_of_a_hundred(monkeypatch):
    """Common practice: the level of a test is its rate of false alarms."""
    monkeypatch.setattr(power, "LARGEST", 24)
    found = sample_size(moth(), "pupa", celsius=20.0, difference_days=1e-6, runs=300)

    assert found.n is None
    assert words(found) == (
        "Not even 24 individuals in each cohort would show a difference of 1e-06 days "
        "in 80% of comparisons.",
    )
    assert np.mean([tried.power for tried in found.table[2:]]) == pytest.approx(0.05, abs=0.025)
    assert found.false_alarms.low < 0.05 < found.false_alarms.high


def test_checks_that_are_too_rare_show_nothing_however_many_are_looked_at(monkeypatch):
    """L1 is entered within 0.7 days (SD): checks three days apart round whole cohorts alike."""
    monkeypatch.setattr(power, "LARGEST", 100)
    rare = sample_size(moth(), "L1", celsius=20.0, difference_days=1.5, every=3, runs=200)
    daily = sample_size(moth(), "L1", celsius=20.0, difference_days=1.5, runs=200)

    assert rare.n is None
    assert rare.false_alarms.high < 0.05
    assert words(rare)[0].endswith("too many pass between the same checks, so look more often.")
    assert daily.n is not None
    assert daily.n < 30


@pytest.mark.slow
@pytest.mark.parametrize(("first", "until"), [("egg", "adult"), ("egg", None), ("L1", "pupa")])
def test_the_size_is_one_at_which_compare_shows_the_difference(first, until):
    """The other way round: whole invented cohorts at both temperatures, compared by `compare`."""
    found = sample_size(moth(), first, until, celsius=22.0, difference_days=1.5, runs=500)
    rng, needed = np.random.default_rng(6), needs(moth())
    shown = 0
    for _ in range(300):
        cohorts = []
        for celsius in (22.0, found.other_celsius):
            kept = ConstantTemperature(celsius, LAID, LAID + timedelta(150))
            laid = rng.uniform(-1, 0, found.n)
            lives = live(needed, curve_of(eggs(1, kept)), laid, Chances(), rng)
            checks = rng.uniform() + np.arange(120.0)
            seen = observe(lives, checks, (np.full(found.n, -1.0), np.zeros(found.n)))
            cohorts.append(ComparedCohort(str(celsius), "moth", seen, None))
        (row,) = compare(cohorts, first, found.until).stages
        shown += row.p < 0.05
    assert shown / 300 == pytest.approx(0.8, abs=0.08)


def test_the_result_says_what_was_compared():
    """By hand: 35 degree-days take 35/12 days at 20 °C; 1 day longer at 8 + 35/(35/12 + 1)."""
    heard: list[PowerAt] = []
    found = sample_size(
        moth(), "L2", celsius=20.0, difference_days=1.0, runs=100, progress=heard.append
    )
    days = MEAN_DD["L2"] / (20 - LOWER)

    assert (found.stage, found.until, found.unit) == ("L2", "L3", "days")
    assert (found.days, found.other_days) == pytest.approx((days, days + 1))
    assert found.other_celsius == pytest.approx(LOWER + MEAN_DD["L2"] / (days + 1))
    assert sorted(heard, key=lambda tried: tried.n) == list(found.table)
    assert all(tried.low <= tried.power <= tried.high for tried in found.table)
    enough = [tried.n for tried in found.table if tried.power >= 0.8]
    assert found.n == min(enough)
    assert words(found) == (
        f"{found.n} individuals that complete it in each cohort show a difference of 1 day "
        "in 80% of comparisons.",
    )
    assert found == sample_size(
        *(moth(), "L2"),
        celsius=20.0,
        difference_days=1.0,
        every=1,
        wanted=0.8,
        runs=100,
        seed=1,
    )


def needed(profile=None, first="L3", until=None, **more):
    usual = {"celsius": 20.0, "difference_days": 1.0, "runs": 100}
    return sample_size(profile or moth(), first, until, **(usual | more)).n


def test_what_makes_a_difference_harder_to_show_asks_for_more():
    plain = needed()

    assert needed(difference_days=2.0) < plain / 2
    assert needed(every=3) > 1.2 * plain
    assert needed(wanted=0.95) > 1.2 * plain
    assert needed(moth(stage("L3", degree_days=number(75.0, sd=3 * SD_DD["L3"])))) > 2 * plain


def test_a_span_is_as_variable_as_its_stages_together():
    """Reference: the z test as above. By hand, L1 to L3 have the SDs 5, 4 and 8 and correlate by
    0.5: together 14.0 degree-days, 1.17 days, with the rounding of both ends to days 1.24."""
    by_hand = 2 * (1.24 / 1.0 * (1.96 + 0.8416)) ** 2 * 3.14159 / 3

    assert needed(first="L1", until="pupa", runs=300) == pytest.approx(by_hand, rel=0.2)


def test_extrapolation_is_said_of_both_temperatures():
    known = moth(stage("L3", degree_days=number(75.0, sd=8.0, at_celsius=(20, 24))))
    found = sample_size(known, "L3", celsius=20.0, difference_days=2.0, runs=50)

    assert found.other_celsius == pytest.approx(LOWER + 75 / (75 / 12 + 2))
    assert assumed(found.assumptions) == ("Extrapolated: L3 measured at 20 to 24 °C, here 17.1 °C",)
    before = moth(stage("L2", degree_days=number(35.0, sd=4.0, at_celsius=(26, 30))))
    found = sample_size(before, "L3", celsius=20.0, difference_days=2.0, runs=50)
    assert found.assumptions == ()


def test_what_nobody_knows_of_the_rounds_makes_no_difference_of_eggs():
    """The moment of the first look is drawn for each cohort, and is known of its eggs too."""
    found = sample_size(moth(), "egg", celsius=20.0, difference_days=2.0, every=2, runs=200)
    assert found.false_alarms.power <= 0.1


@pytest.mark.parametrize(
    ("first", "until", "message"),
    [
        ("L7", None, "no stage L7 to compare"),
        ("L1", "L9", "no stage L9"),
        ("adult", None, "adult is the last stage"),
        ("L2", "L1", "L1 does not come after L2"),
        ("L2", "L2", "L2 does not come after L2"),
    ],
)
def test_spans_that_are_none_are_refused(first, until, message):
    with pytest.raises(UsageError, match=message):
        sample_size(moth(), first, until, celsius=20.0, difference_days=1.0)


def test_optional_stages_are_passed_over():
    skipping = moth(stage("L3", optional=True))
    with pytest.raises(UsageError, match="no stage L3"):
        sample_size(skipping, "L3", celsius=20.0, difference_days=1.0)

    assert sample_size(skipping, "L2", celsius=20.0, difference_days=1.0, runs=50).until == "pupa"


def test_every_argument_that_makes_no_sense_is_named():
    with pytest.raises(UsageError) as caught:
        sample_size(
            *(moth(), "L2"),
            celsius=7.0,
            difference_days=-1.0,
            every=0,
            wanted=0.0,
            runs=0,
        )

    assert len(caught.value.problems) == 4


def test_the_other_temperature_may_be_given_instead_of_the_difference():
    """By hand: 35 degree-days take 35/12 days at 20 °C and 35/8 days at 16 °C."""
    by_days = sample_size(moth(), "L2", celsius=20.0, difference_days=35 / 8 - 35 / 12, runs=100)
    by_celsius = sample_size(moth(), "L2", celsius=20.0, other_celsius=16.0, runs=100)
    warmer = sample_size(moth(), "L2", celsius=16.0, other_celsius=20.0, runs=100)

    assert by_celsius.difference_days == pytest.approx(by_days.difference_days)
    assert (by_celsius.n, by_celsius.table) == (by_days.n, by_days.table)
    assert warmer.difference_days == pytest.approx(-by_celsius.difference_days)
    assert "a difference of 1.46 days" in words(warmer)[0]


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({}, "either the difference"),
        ({"difference_days": 1.0, "other_celsius": 18.0}, "either the difference"),
        ({"other_celsius": 20.0}, "no difference to show"),
        ({"difference_days": 0.0}, "no difference to show"),
        ({"other_celsius": 8.01}, "more than 1500 days"),
    ],
)
def test_differences_that_are_none(more, message):
    with pytest.raises(UsageError, match=message):
        sample_size(moth(), "L2", celsius=20.0, runs=10, **more)


@pytest.mark.parametrize(
    ("least", "tried", "found"),
    [
        (3, [3], 3),
        (4, [3, 6, 4], 4),
        (20, [3, 6, 12, 24, 18, 21, 19, 20], 20),
        (100, [3, 6, 12, 24, 48, 96, 192, 144, 120, 108, 102, 99], 102),  # 3 is less than 5 %
        (161, [3, 6, 12, 24, 48, 96, 192, 144, 168, 156, 162], 162),
        (2001, [3, 6, 12, 24, 48, 96, 192, 384, 768, 1536, 2000], None),
    ],
)
def test_the_size_is_doubled_until_it_is_enough_and_the_gap_halved_until_it_is_small(
    least, tried, found
):
    """By hand, with as many as `least` enough."""
    asked = []

    def enough(n):
        asked.append(n)
        return n >= least

    assert power._smallest(enough) == found
    assert asked == tried


def test_rounds_once_a_week_fall_on_any_day_and_find_the_mean_time_on_average():
    """60 degree-days at 12 a day are 5 days: what one cohort's rounds err, those of others make up
    for, as they stand anyhow to the laying. The mean of 600 is then known to 0.2 days."""
    watch = power._watch(needs(moth()), "egg", None, 7)
    found = watch.cohorts(12.0, (600, 3), np.random.default_rng(4))
    assert np.mean([each.mean for each in found]) == pytest.approx(5.0, abs=0.2)
