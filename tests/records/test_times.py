"""Dates and times as people type them, and the days on which clocks change."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records import times
from rearlog.records.errors import UsageError

NOW = datetime(2026, 3, 12, 15, 30, tzinfo=UTC)  # a Thursday
TODAY = NOW.date()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-03-09", "2026-03-09"),
        (" 2026-03-09 ", "2026-03-09"),
        ("today", "2026-03-12"),
        ("Yesterday", "2026-03-11"),
        ("thursday", "2026-03-12"),
        ("friday", "2026-03-06"),
        ("wed", "2026-03-11"),
        ("2024-02-29", "2024-02-29"),
        ("11 March", "2026-03-11"),
        ("11 mar.", "2026-03-11"),
        ("March 11", "2026-03-11"),
        ("12 March", "2026-03-12"),
        ("13 March", "2025-03-13"),  # the last one, as with a weekday
        ("29 February", "2024-02-29"),
        ("11. March 2024", "2024-03-11"),
        ("March 11, 2024", "2024-03-11"),
    ],
)
def test_right_dates(text: str, expected: str) -> None:
    assert times.read_date(text, TODAY) == date.fromisoformat(expected)


@pytest.mark.parametrize(
    "text", ["03/09/26", "9.3.2026", "2026-3-9", "2026-02-30", "2026-13-01", "0000-01-01", "",
             "tomorrow", "mo", "t", "20260309", "2026-W10", "\x1b[2J", "12", "2026-03-09x",
             "11 Ma", "31 April", "32 March", "30 February 2026", "11 Marzo", "3 4 March"],
)  # fmt: skip
def test_wrong_dates_are_told_how_to_be_written(text: str) -> None:
    with pytest.raises(UsageError, match="is not a date") as told:
        times.read_date(text, TODAY)
    assert "2026-03-09" in told.value.problems[0].remedy
    assert told.value.exit_code == 2


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-03-09", "2026-03-09T09:00:00+00:00"),  # at the usual time of the check
        ("yesterday", "2026-03-11T09:00:00+00:00"),
        ("today", "2026-03-12T09:00:00+00:00"),
        ("2026-03-09T08:40", "2026-03-09T08:40:00+00:00"),
        ("2026-03-09 08:40", "2026-03-09T08:40:00+00:00"),
        ("2026-03-09T8:40", "2026-03-09T08:40:00+00:00"),
        ("2026-03-09T08:40:15.9", "2026-03-09T08:40:15+00:00"),
        ("2026-03-09T08:40+02:00", "2026-03-09T08:40:00+02:00"),
        ("2026-03-09T08:40Z", "2026-03-09T08:40:00+00:00"),
        ("9 March", "2026-03-09T09:00:00+00:00"),
        ("9 March 8:40", "2026-03-09T08:40:00+00:00"),
        ("yesterday 08:40", "2026-03-11T08:40:00+00:00"),
    ],
)
def test_right_moments(text: str, expected: str) -> None:
    found = times.read_moment(text, "UTC", "09:00", NOW)
    assert found.isoformat() == expected
    assert found.microsecond == 0


def test_today_before_the_usual_time_stands_at_present() -> None:
    early = NOW.replace(hour=7)
    assert times.read_moment("today", "UTC", "09:00", early) == early


@pytest.mark.parametrize(
    "text", ["2026-03-09T25:00", "2026-03-09T08:60", "2026-03-09T08", "2026-02-30T08:00",
             "2026-03-09T08:40 noon", "2026-03-09T08:40+99:00", "09/03/2026 08:40", "08:40"],
)  # fmt: skip
def test_wrong_moments_are_told(text: str) -> None:
    with pytest.raises(UsageError, match="is not a date"):
        times.read_moment(text, "UTC", "09:00", NOW)


@given(
    st.text(max_size=30)
    | st.datetimes().map(str)
    | st.datetimes().map(lambda moment: f"{moment:%Y-%m-%dT%H:%M}+14:00")
    | st.dates().map(str)
)
def test_any_text_is_read_or_told(text: str) -> None:
    for zone in ("UTC", "Pacific/Auckland", "America/New_York"):
        try:
            found = times.read_moment(text, zone, "09:00", NOW)
        except UsageError:
            continue
        assert found.utcoffset() is not None
        assert datetime.fromisoformat(found.isoformat()) == found


@pytest.mark.parametrize(
    ("text", "clock"), [("8:40", "08:40"), ("08:40", "08:40"), ("0:00", "00:00")]
)
def test_right_clocks(text: str, clock: str) -> None:
    assert times.read_clock(text) == clock


@pytest.mark.parametrize("text", ["24:00", "8", "8.40", "08:60", "8:4", "", "noon", "08:40:00"])
def test_wrong_clocks_are_told(text: str) -> None:
    with pytest.raises(UsageError, match="is not a time of day"):
        times.read_clock(text)


@pytest.mark.parametrize("zone", ["Europe/London", "UTC", "America/Chicago"])
def test_right_zones(zone: str) -> None:
    assert times.check_zone(zone) == zone


@pytest.mark.parametrize("zone", ["Mars/Phobos", "", "../../etc/passwd", "Europe", "\0", "\x1b[2J"])
def test_wrong_zones_are_told(zone: str) -> None:
    with pytest.raises(UsageError, match="there is no time zone"):
        times.check_zone(zone)


def test_the_present_is_told_to_the_second_with_its_offset() -> None:
    found = times.now("Europe/London")
    assert found.microsecond == 0
    assert abs(datetime.now(UTC) - found) < timedelta(seconds=5)


def test_a_difference_over_a_change_of_clocks_is_the_time_that_passed() -> None:
    """Clocks in London went forward on 2026-03-29 at 01:00 UTC."""
    before = times.read_moment("2026-03-28T09:00", "Europe/London", "09:00", NOW)
    after = times.read_moment("2026-03-29T09:00", "Europe/London", "09:00", NOW)
    assert after - before == timedelta(hours=23)


def test_the_hour_that_is_left_out_is_put_after_the_gap() -> None:
    found = times.read_moment("2026-03-29T01:30", "Europe/London", "09:00", NOW)
    assert found.astimezone(UTC) == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    ["9999-12-31", "0001-01-01", "1899-12-31", "2037-01-01", "9999-12-31T23:59",
     "0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00", "2026-03-09T08:40+24:00",
     "2026-03-09T08:40+14:01", "2026-03-09T08:40-23:59"],
)  # fmt: skip
def test_what_no_calendar_of_ours_holds_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        times.read_moment(text, "UTC", "09:00", datetime(2026, 3, 11, 9, tzinfo=UTC))


@pytest.mark.parametrize("text", ["1900-01-01", "2036-12-31", "2026-03-09T08:40+14:00"])
def test_the_edges_of_the_calendar_are_taken(text: str) -> None:
    present = datetime(2026, 3, 11, 9, tzinfo=UTC)
    assert times.read_moment(text, "UTC", "09:00", present).isoformat()[:10] == text[:10]
