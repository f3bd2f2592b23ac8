"""A cohort's clock: days since its zero for arithmetic, calendar days in its zone for people."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from msgspec import Struct

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]

Seconds = TypeVar("Seconds", float, "Floats")

SECONDS_PER_DAY = 86_400.0
FARTHEST_HOURS = 14
"""No zone is farther from UTC (IANA time zone database: Kiritimati, +14:00)."""

YEARS = range(1900, 2200)
"""Years that a record can be of: other dates are mistakes, and would break sums of days."""


class CohortClock(Struct, frozen=True):
    """Counts from `zero`, the start of the cohort; `zone` names the zone of its calendar days.

    A day of the count has 24 hours, a calendar day 23 or 25 where clocks change.
    """

    zero: datetime
    zone: str

    def days(self, instant: datetime) -> float:
        """Days from zero to an instant."""
        return self.days_of(instant.timestamp())

    def days_of(self, seconds: Seconds) -> Seconds:
        """Days from zero to an instant, or an array of them, in seconds since 1970 (UTC)."""
        return (seconds - self.zero.timestamp()) / SECONDS_PER_DAY

    def instant(self, days: float) -> datetime:
        """The instant so many days after zero, with the offset that the zone has then."""
        return in_zone(self.zero + timedelta(days=days), self.zone)

    def day(self, instant: datetime) -> date:
        """The calendar day of an instant."""
        return instant.astimezone(ZoneInfo(self.zone)).date()

    def day_after(self, days: float) -> date:
        """The calendar day on which so many days have passed since zero."""
        return self.instant(days).date()

    def midnights(self, first: date, count: int) -> list[float]:
        """When `count` calendar days from `first` on begin, and the last ends: `count + 1` days."""
        return [self.days(each) for each in midnights(first, count, self.zone)]


def midnights(first: date, days: int, zone: str) -> list[datetime]:
    """The `days + 1` instants at which the calendar days from `first` on begin (and the last ends).

    Days on which clocks change have 23 or 25 hours between theirs.
    """
    where = ZoneInfo(zone)
    begin = datetime(first.year, first.month, first.day)
    local = [(begin + timedelta(days=count)).replace(tzinfo=where) for count in range(days + 1)]
    return [moment.astimezone(UTC) for moment in local]


def in_zone(instant: datetime, zone: str) -> datetime:
    """The instant as the clocks of a zone show it, to the second, with its plain offset.

    Two datetimes that share one zone object are subtracted by their clocks, which is wrong on
    the nights that clocks change; with plain offsets the difference is the time that passed.
    """
    return with_offset(instant.astimezone(ZoneInfo(zone)))


def with_offset(moment: datetime) -> datetime:
    """The same clock time with its offset alone, to the second (see `in_zone`)."""
    offset = moment.utcoffset()
    assert offset is not None
    return datetime(*moment.timetuple()[:6], tzinfo=timezone(offset))
