"""Days since a cohort's zero, and calendar days where clocks change."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from rearlog.records.clock import CohortClock, in_zone, midnights

LONDON = CohortClock(datetime(2026, 3, 28, 9, tzinfo=UTC), "Europe/London")


@pytest.mark.parametrize(
    ("first", "hours"), [(date(2026, 3, 28), [24, 23, 24]), (date(2026, 10, 24), [24, 25, 24])]
)
def test_days_on_which_clocks_change_are_shorter_or_longer(first: date, hours: list[int]) -> None:
    edges = midnights(first, 3, "Europe/London")
    lengths = [later - earlier for earlier, later in pairwise(edges)]
    assert lengths == [timedelta(hours=each) for each in hours]
    assert all(each.astimezone(ZoneInfo("Europe/London")).hour == 0 for each in edges)


def test_days_of_24_hours_since_zero_and_back() -> None:
    later = datetime(2026, 3, 29, 21, tzinfo=UTC)
    assert LONDON.days(later) == LONDON.days_of(later.timestamp()) == 1.5
    assert LONDON.days(LONDON.instant(-0.25)) == -0.25
    assert LONDON.instant(1.5) == later
    assert str(LONDON.instant(1.5)) == "2026-03-29 22:00:00+01:00"  # clocks went on that night


def test_calendar_days_are_those_of_the_zone() -> None:
    assert LONDON.day(datetime(2026, 3, 29, 23, 30, tzinfo=UTC)) == date(2026, 3, 30)
    assert LONDON.day(datetime(2026, 3, 28, 23, 30, tzinfo=UTC)) == date(2026, 3, 28)
    assert LONDON.day_after(1.61) == date(2026, 3, 30)  # 23:38 by UTC, 00:38 by the clocks
    assert LONDON.midnights(date(2026, 3, 28), 2) == [-9 / 24, 15 / 24, 38 / 24]


def test_with_plain_offsets_the_difference_is_the_time_that_passed() -> None:
    before, after = datetime(2026, 3, 29, 0, tzinfo=UTC), datetime(2026, 3, 29, 3, tzinfo=UTC)
    zoned = [each.astimezone(ZoneInfo("Europe/London")) for each in (before, after)]
    assert zoned[1] - zoned[0] == timedelta(hours=4)  # what the clocks show
    assert in_zone(after, "Europe/London") - in_zone(before, "Europe/London") == timedelta(hours=3)
