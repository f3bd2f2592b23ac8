from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from rearlog.exchange.clock_times import (
    LocalClock,
    NoSuchTime,
    offset_in,
    read_clock,
    split_moment,
)

AUTUMN, SPRING = date(2026, 10, 25), date(2026, 3, 29)  # the nights that Europe's clocks change


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("08:40", 31200), ("8:40:30", 31230), ("08:40:30.500", 31230), ("8:40 AM", 31200),
     ("8:40 p.m.", 74400), ("12:00:00 AM", 0), ("12:15 pm", 44100), ("23:59", 86340)],
)  # fmt: skip
def test_times_of_day(text: str, seconds: int) -> None:
    assert read_clock(text) == (seconds, None)


@pytest.mark.parametrize("text", ["24:00", "08:60", "13:00 PM", "0:30 AM", "0840", "", "8", "21.5"])
def test_what_is_no_time_of_day(text: str) -> None:
    assert read_clock(text) is None


def test_offsets_beside_times_and_in_titles() -> None:
    hour = timedelta(hours=1)
    assert read_clock("08:40Z") == (31200, timedelta(0))
    assert read_clock("08:40:00+01:00") == (31200, hour)
    assert read_clock("08:40-0530") == (31200, -5.5 * hour)
    assert offset_in("Date Time, GMT-05:00") == -5 * hour
    assert offset_in("time (UTC+1)") == hour
    assert offset_in("time_utc") is None
    assert offset_in("Time (UTC)") == timedelta(0)
    assert offset_in("time") is None


def test_cells_with_date_and_time() -> None:
    assert split_moment("2026-03-09T08:40") == ("2026-03-09", "08:40")
    assert split_moment("9 Mar 2026, 8:40 PM") == ("9 Mar 2026", "8:40 PM")
    assert split_moment("08:40") is None
    assert split_moment("2026-03-09") is None


def instants(zone: str, day: date, *clocks: str) -> list[str]:
    clock = LocalClock(ZoneInfo(zone))
    found = []
    for text in clocks:
        hours, minutes = text.split(":")
        instant = clock.instant(day, int(hours) * 3600 + int(minutes) * 60)
        found.append(datetime.fromtimestamp(instant, UTC).strftime("%H:%M"))
    return found


def test_the_hour_that_comes_twice() -> None:
    # summer time ends at 01:00 UTC: 01:59 British Summer Time is followed by 01:00 GMT
    assert instants("Europe/London", AUTUMN, "00:30", "01:00", "01:30", "01:00", "01:30", "02:00") \
        == ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]  # fmt: skip


def test_hourly_readings_in_the_hour_that_comes_twice() -> None:
    assert instants("Europe/London", AUTUMN, "00:00", "01:00", "01:00", "02:00") == [
        "23:00", "00:00", "01:00", "02:00"
    ]  # fmt: skip


def test_two_runs_over_the_same_night_begin_in_summer_time_again() -> None:
    night = ("01:30", "01:30", "03:00")
    assert instants("Europe/London", AUTUMN, *night, *night) == 2 * ["00:30", "01:30", "03:00"]


def test_readings_in_a_double_hour_are_counted() -> None:
    clock = LocalClock(ZoneInfo("Europe/London"))
    for minutes in (30, 70, 100, 130):
        clock.instant(AUTUMN, minutes * 60)
    assert clock.twice == 2


def test_a_time_that_the_clocks_pass_over_is_noticed() -> None:
    with pytest.raises(NoSuchTime):
        LocalClock(ZoneInfo("Europe/London")).instant(SPRING, 5400)
    assert (
        LocalClock(UTC).instant(SPRING, 5400)
        == datetime(2026, 3, 29, 1, 30, tzinfo=UTC).timestamp()
    )


@pytest.mark.parametrize(
    "zone", ["Europe/London", "America/Havana", "Asia/Kolkata", "Atlantic/Azores"]
)
def test_instants_agree_with_the_standard_library_around_the_year(zone: str) -> None:
    clock = LocalClock(ZoneInfo(zone))
    moment = datetime(2026, 1, 1, tzinfo=UTC)
    while moment.year == 2026:
        local = moment.astimezone(ZoneInfo(zone))
        seconds = local.hour * 3600 + local.minute * 60
        assert clock.instant(local.date(), seconds) == moment.timestamp()
        moment += timedelta(minutes=30)


def test_a_fixed_offset_has_no_double_hour() -> None:
    clock = LocalClock(timezone(timedelta(hours=-5)))
    assert clock.instant(AUTUMN, 0) == datetime(2026, 10, 25, 5, tzinfo=UTC).timestamp()
