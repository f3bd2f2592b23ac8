"""Jumps over stages that there was no time for; the least times by hand from the profiles."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.records.jumps import fastest_days, jumps_of, least_days, warmest
from rearlog.records.log import ConstantTemperature, DayExtremes, Observation, Readings
from rearlog.records.profile import Profile, Quantity
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from tests.builders import START, moment, small_profile, tiny_log

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
LADY = find("painted-lady")
MONARCH = find("monarch")


@pytest.mark.parametrize(
    ("profile", "stage", "celsius", "days"),
    [
        # (35.7 - 3 × 3.6) degree-days above 6.9 °C
        (LADY, "L2", 22.0, 24.9 / 15.1),
        (LADY, "L2", 30.0, 24.9 / 23.1),
        # not known how warm: the shorter of the days (1 to 3) and 27 - 3 × 2.2 at 33 - 11.5 °C
        (MONARCH, "L2", None, 20.4 / 21.5),
        # above the upper threshold nothing is faster than at it
        (MONARCH, "L2", 36.0, 20.4 / 21.5),
        # no upper threshold: the days alone, 2 to 3
        (LADY, "L2", None, 2.0),
        # below the lower threshold the heat tells nothing, and the days are the least
        (LADY, "L2", 5.0, 2.0),
    ],
)
def test_the_fastest_that_a_profile_tells(
    profile: Profile, stage: str, celsius: float | None, days: float
) -> None:
    assert fastest_days(profile, profile.stage(stage), celsius) == pytest.approx(days)


def test_days_hold_for_their_temperatures_and_cooler_ones() -> None:
    plain = small_profile().stage("L1")
    days = replace(plain, days=Quantity("test", low=2.0, high=3.0, at_celsius=(18.0, 22.0)))
    profile = small_profile()
    assert fastest_days(profile, days, 15.0) == 2
    assert fastest_days(profile, days, 25.0) == 0
    assert fastest_days(profile, plain, 20.0) == 0


def test_a_mean_alone_may_be_halved() -> None:
    stage = replace(small_profile().stage("L1"), days=Quantity("test", value=4.0))
    assert fastest_days(small_profile(), stage) == 2


def test_optional_stages_need_no_time() -> None:
    profile = small_profile(heat={"L1": 30.0, "L2": 30.0, "L3": 30.0})
    # 30 - 3 × 3 degree-days above 10 °C, at 20 °C: 2.1 days each; L3 is optional
    assert least_days(profile, "egg", "pupa", 20.0) == pytest.approx(4.2)
    assert least_days(profile, "egg", "L1", 20.0) == 0


def told(line: str) -> list[str]:
    log = tiny_log({"1": line}, profile=LADY)
    looks = [replace(each, number=n) for n, each in enumerate(log.checks["1"], start=1)]
    individual = log.by_code["1"]
    return [
        str(each.problem) for each in jumps_of(LADY, individual, looks, lambda since, until: 22.0)
    ]


def test_an_l5_the_day_after_an_l1() -> None:
    (problem,) = told("egg L1 L5 L5")
    # L2, L3 and L4 at 22 °C: (24.9 + 24.9 + 29.9) / 15.1
    assert "L5 is 1.0 days after L1, and L2 to L4 alone would take 5.3 at the fastest" in problem
    assert "@2" in problem
    assert "@1 says L1" in problem


@pytest.mark.parametrize("line", ["egg L1 L2 L3", "egg L1 - - - - - L5", "egg - - L2", "L1 L2"])
def test_what_there_was_time_for(line: str) -> None:
    assert told(line) == []


def test_who_entered_may_be_the_mistake() -> None:
    (problem,) = told("egg L3")
    assert "it entered as egg" in problem


def test_no_change_is_a_look() -> None:
    """Five days from L1 to L5 would do, but on the fourth it was L1 still."""
    log = tiny_log({"1": "egg L1 - - - - - L5"}, profile=LADY)
    same = Observation("1", moment(6), same=True)
    looks = sorted((*log.checks["1"], same), key=lambda each: each.at)
    individual = log.by_code["1"]
    assert len(list(jumps_of(LADY, individual, looks, lambda since, until: 22.0))) == 1


def test_a_call_of_an_earlier_stage_makes_no_jump_of_the_next() -> None:
    assert told("L3 L3 L1 L3 L3") == []


DAY = date(2026, 3, 10)


@pytest.mark.parametrize(
    ("records", "celsius"),
    [
        ((), 19.0),  # as was planned
        ((DayExtremes(DAY, 18.0, 26.0), DayExtremes(DAY + timedelta(1), 16.0, 20.0)), 22.0),
        ((DayExtremes(DAY + timedelta(9), 30.0, 34.0),), 19.0),  # afterwards
        ((ConstantTemperature(24.0, DAY),), 24.0),
        ((ConstantTemperature(30.0, date(2026, 1, 1), date(2026, 2, 1)),), 19.0),
        ((Readings(moment(0), (0, 43_200, 86_400, 129_600), (90.0, 20.0, 30.0, 24.0)),), 27.0),
    ],
)
def test_how_warm_it_was(records: tuple[DayExtremes, ...], celsius: float) -> None:
    """Between days 1 and 3 (10 to 12 March, 9 o'clock): of means of days the warmest, by hand."""
    log = tiny_log({"1": "egg"}, temperatures=records)
    log = replace(log, cohort=replace(log.cohort, planned_celsius=19.0))
    assert warmest(log)(moment(1), moment(3)) == celsius
    assert START.date() == DAY - timedelta(1)


@pytest.mark.parametrize("name", ["cool", "room", "warm"])
def test_the_sample_cohorts_have_no_jump(name: str) -> None:
    log = CohortFile(SAMPLES / f"{name}.json").read()
    for code, checks in log.checks.items():
        assert not [*jumps_of(log.cohort.species, log.by_code[code], checks, warmest(log))]
