from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import RECORDED, lay_out
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from rearlog.records.standing import Standing, standing
from tests.builders import START, moment, seen, tiny_log

DAY = date(2026, 3, 12)
EVENING = 10 / 24
"""From the check at 9:00 to 19:00."""


def test_a_cohort_of_which_some_were_looked_at_today() -> None:
    log = tiny_log(
        {"1": "egg L1 L1", "2": "egg L1", "3": "egg - dead", "4": "pupa adult", "5": "egg L1 lost"}
    )
    assert standing(log, moment(2 + EVENING)) == Standing(
        "tiny", 5, 3, 2, 2, 1, date(2026, 3, 10), (date(2026, 3, 9), date(2026, 3, 10))
    )


def test_on_the_day_of_the_start_nobody_waits() -> None:
    found = standing(tiny_log({"1": "egg", "2": "egg"}), moment(EVENING))
    assert (found.developing, found.unseen, found.last_seen) == (2, 0, None)
    assert found.without_temperature == ()


@pytest.mark.parametrize("line", ["pupa adult", "egg dead", "egg L1 lost"])
def test_who_develops_no_more_waits_for_nobody(line: str) -> None:
    found = standing(tiny_log({"1": line}), moment(9))
    assert (found.developing, found.unseen, found.last_seen) == (0, 0, None)
    assert found.without_temperature == ()
    assert found.alive == ("adult" in line)


@pytest.mark.parametrize(
    ("told", "waits"),
    [
        ({"eggs": 0}, True),
        ({"hatched": 3}, True),
        ({"mate": "cage-1"}, True),
        ({"mass_mg": 3.0}, False),
        ({}, False),
    ],
)
def test_adults_wait_for_a_look_once_eggs_or_a_mate_were_told(
    told: dict[str, Any], waits: bool
) -> None:
    log = tiny_log({"1": "pupa adult", "2": "pupa adult dead", "3": "egg - - L1"})
    log = log.with_checks([seen("1", 3, "adult", **told)])
    found = standing(log, moment(5))
    assert (found.alive, found.developing) == (2, 1)
    assert (found.to_see, found.unseen) == ((2, 2) if waits else (1, 1))
    assert found.last_seen == date(2026, 3, 12)
    looked_at = log.with_checks([seen("3", 5, "L1")])
    assert standing(looked_at, moment(5)).unseen == waits


def test_what_was_written_first_but_seen_later_is_the_last() -> None:
    log = tiny_log({"1": "egg L1 L2"})
    turned = tiny_log({"1": "egg"}).with_checks(reversed(log.all_observations))
    now = moment(2 + EVENING)
    assert standing(turned, now) == standing(log, now)
    assert standing(turned, now).unseen == 0


@pytest.mark.parametrize(("zone", "unseen"), [("UTC", 0), ("Pacific/Auckland", 1)])
def test_days_are_those_of_the_cohorts_zone(zone: str, unseen: int) -> None:
    """A look at 9:00 UTC is one of 22:00 in Auckland, where four hours later it is tomorrow."""
    now = moment(1 + 4 / 24).astimezone(ZoneInfo(zone))
    found = standing(tiny_log({"1": "egg L1"}, zone=zone), now)
    assert found.unseen == unseen
    assert found.last_seen == (date(2026, 3, 10) if unseen else None)


@pytest.mark.parametrize(
    ("records", "missing"),
    [
        ((), [9, 10, 11, 12]),
        ((DayExtremes(date(2026, 3, 10), 18, 22),), [9, 11, 12]),
        ((ConstantTemperature(20, date(2026, 3, 1), date(2026, 3, 10)),), [11, 12]),
        ((ConstantTemperature(20, date(2026, 3, 11)),), [9, 10]),
        # from 9:00 to midnight without a reading, and to the 11th at 0:00: neither day is told
        ((Readings(START, (0, 3600, 54000, 140400), (20, 20, 20, 20)),), [9, 10, 11, 12]),
        # every six hours from 3:00 of the 10th to 21:00 of the 11th
        ((Readings(moment(0.75), tuple(range(0, 151201, 21600)), (20,) * 8),), [9, 12]),
    ],
)
def test_days_without_a_temperature(records: tuple[Temperature, ...], missing: list[int]) -> None:
    found = standing(tiny_log({"1": "egg L1"}, temperatures=records), moment(4))
    assert found.without_temperature == tuple(date(2026, 3, day) for day in missing)


def test_days_without_a_temperature_are_those_that_the_heat_is_not_counted_of() -> None:
    """Beside what lays out temperatures for every answer, of loggers that were silent at times."""
    made = np.random.default_rng(6)
    lacked = 0
    for place in range(60):
        step = int(made.choice([1800, 7200, 21600]))
        every = np.arange(made.integers(-90_000, 90_000), 700_000, step)
        kept = every[made.random(len(every)) > made.choice([0.05, 0.3, 0.6])]
        begin, end = np.sort(made.integers(0, 600_000, size=2))
        kept = kept[(kept < begin) | (kept > end)]
        at = START + timedelta(seconds=int(kept[0]))
        run = Readings(at, tuple((kept - kept[0]).tolist()), (20.0,) * len(kept))
        told: tuple[Temperature, ...] = (run,) if place % 2 else (run, DayExtremes(DAY, 18, 22))
        log = tiny_log({"1": "egg - L1"}, temperatures=told, laid=(-1.5, -0.5))
        now = moment(float(made.uniform(4, 9)))
        laid_out = lay_out(log)
        recorded = laid_out.status == RECORDED
        known = {day for day, its in zip(laid_out.dates, recorded, strict=True) if its}
        days = (now.date() - laid_out.dates[0]).days
        expected = [laid_out.dates[0] + timedelta(step) for step in range(days)]
        found = standing(log, now).without_temperature
        assert found == tuple(day for day in expected if day not in known)
        lacked += 0 < len(found) < days
    assert lacked > 20


def test_who_enters_later_is_not_there_yet() -> None:
    log = tiny_log({"1": "egg", "2": "egg - - L1"})
    late = replace(log.individuals[1], entered_at=moment(2))
    log = replace(log, individuals=(log.individuals[0], late))
    assert standing(log, moment(1.9)).individuals == 1
    assert standing(log, moment(2)).individuals == 2
    assert standing(log, moment(2.1)).unseen == 1
    assert standing(log, moment(3)).unseen == 1
    assert standing(log, moment(3)).last_seen == START.date()


def test_the_look_of_this_very_moment_counts_and_one_without_a_stage_too() -> None:
    log = tiny_log({"1": "pupa adult", "2": "egg L1"})
    same = [replace(seen(code, 2, "L1"), stage=None, same=True) for code in ("1", "2")]
    found = standing(log.with_checks(same), moment(2))
    assert (found.developing, found.unseen) == (1, 0)
    at_entry = tiny_log({"1": "egg"}).with_checks([seen("1", 0, "dead")])
    assert standing(at_entry, moment(1)).alive == 0


def test_a_look_at_midnight_is_one_of_the_new_day() -> None:
    log = tiny_log({"1": "egg"}).with_checks([seen("1", 1 - 9 / 24, "L1")])
    assert log.all_observations[0].at.hour == 0
    assert standing(log, moment(1)).unseen == 0


def test_temperatures_kept_before_the_start_and_beyond_today_change_nothing() -> None:
    kept = (ConstantTemperature(20, date(1990, 1, 1), date(2190, 1, 1)),)
    assert standing(tiny_log({"1": "egg"}, temperatures=kept), moment(4)).without_temperature == ()


def test_random_lives_are_counted_as_one_by_one() -> None:
    """Beside a count that goes through each life by itself."""
    made = np.random.default_rng(4)
    stages = ["egg", "L1", "L2", "L3", "pupa", "adult"]
    for _ in range(40):
        lives: dict[str, str] = {}
        last: dict[str, tuple[int, int, str | None]] = {}
        for code in "abcdef":
            words, rank, seen = ["egg"], 0, 0
            fate: str | None = None
            for day in range(1, 9):
                if fate or made.random() < 0.4:
                    words.append("-")
                    continue
                seen = day
                if made.random() < 0.1:
                    fate = "dead"
                    words.append(fate)
                else:
                    rank = min(rank + int(made.integers(0, 3)), 5)
                    words.append(stages[rank])
            lives[code] = " ".join(words)
            last[code] = seen, rank, fate
        found = standing(tiny_log(lives), moment(8 + EVENING))
        alive = [each for each in last.values() if not each[2]]
        developing = [each[0] for each in alive if each[1] < 5]
        unseen = [each for each in developing if each < 8]
        last_day = START.date() + timedelta(max(unseen)) if unseen else None
        assert found.alive == len(alive)
        assert (found.developing, found.unseen, found.last_seen) == (
            len(developing), len(unseen), last_day
        )  # fmt: skip
