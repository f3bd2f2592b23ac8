"""The time of day in a logger's file, and the instant that a local time stands for."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta, tzinfo

from rearlog.records.clock import FARTHEST_HOURS

_MOMENT = re.compile(r"(?P<date>.*?\S)(?:T|[\s,]\s*)(?P<clock>\d{1,2}:\d{2}.*)", re.S)
_CLOCK = re.compile(
    r"(\d{1,2}):([0-5]\d)(?::([0-5]\d)(?:[.,]\d+)?)?\s*(?:([ap])\.?\s?m\.?)?\s*"
    r"(?:(Z|UTC|GMT)|([+-])(\d{2}):?(\d{2}))?",
    re.I,
)
_OFFSET = re.compile(r"\b(?:GMT|UTC)\s*(?:([+-])(\d{1,2})(?::?(\d{2}))?)?(?!\w)")

_LONGEST_MOMENT = 80

_EPOCH = datetime(1970, 1, 1)


def split_moment(text: str) -> tuple[str, str] | None:
    """The date and the time of day in a cell that has both, as written; None where it has not."""
    match = _MOMENT.fullmatch(text.strip()) if len(text) <= _LONGEST_MOMENT else None
    return (match["date"], match["clock"]) if match else None


def read_clock(text: str) -> tuple[int, timedelta | None] | None:
    """Seconds since midnight, and the offset from UTC where it stands beside; None if unreadable.

    With a. m. or p. m. the hours are those of a 12-hour clock.
    """
    match = _CLOCK.fullmatch(text.strip()) if len(text) <= _LONGEST_MOMENT else None
    if match is None:
        return None
    hour = int(match[1])
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[4].lower() == "p" else 0)
    if hour > 23:
        return None
    try:
        offset = timedelta(0) if match[5] else _offset(match[6], match[7], match[8])
    except NoSuchOffset:
        return None
    return hour * 3600 + int(match[2]) * 60 + int(match[3] or 0), offset


def offset_in(title: str) -> timedelta | None:
    """The offset from UTC that a column's title names, such as `Time, GMT+01:00`; else None.

    Raises NoSuchOffset for one that no zone has.
    """
    match = _OFFSET.search(title)
    if match is None:
        return None
    return _offset(match[1], match[2], match[3]) or timedelta(0)


def _offset(sign: str | None, hours: str | None, minutes: str | None) -> timedelta | None:
    if sign is None or hours is None:
        return None
    size = timedelta(hours=int(hours), minutes=int(minutes or 0))
    if size > timedelta(hours=FARTHEST_HOURS) or int(minutes or 0) > 59:
        raise NoSuchOffset
    return -size if sign == "-" else size


class NoSuchOffset(Exception):
    """An offset from UTC that no zone has."""


class NoSuchTime(Exception):
    """A local time that the clocks of the zone pass over in spring."""


class LocalClock:
    """Turns the local times of one file, in the file's order, into instants.

    The hour that comes twice in autumn: the first time through is summer time; where the file
    then goes back within that hour, the second time through has begun. `twice` counts the
    readings that stand in such an hour.
    """

    def __init__(self, zone: tzinfo) -> None:
        self._zone = zone
        self._midnights: dict[date, int | None] = {}
        self._before: datetime | None = None
        self._second = False
        self.twice = 0

    def instant(self, day: date, seconds: int) -> int:
        """The instant of a local time, in seconds since 1970 UTC.

        Raises NoSuchTime for a time that the clocks pass over.
        """
        if day not in self._midnights:
            self._midnights[day] = self._midnight(day)
        midnight = self._midnights[day]
        if midnight is not None:
            self._before = None
            return midnight + seconds
        local = datetime.combine(day, time()) + timedelta(seconds=seconds)
        offset = self._zone.utcoffset(local)
        later = self._zone.utcoffset(local.replace(fold=1))
        assert offset is not None
        assert later is not None
        if later > offset:
            raise NoSuchTime
        if later == offset:
            self._before = None
        else:
            self.twice += 1
            if self._before is None:
                self._second = False
            elif local <= self._before:
                self._second = True
            self._before = local
            offset = later if self._second else offset
        return int((local - _EPOCH - offset).total_seconds())

    def _midnight(self, day: date) -> int | None:
        """The instant at which a day begins; None for a day on which the clocks change."""
        begin = datetime.combine(day, time())
        offset = self._zone.utcoffset(begin)
        if offset is None or offset != self._zone.utcoffset(begin + timedelta(days=1)):
            return None
        return int((begin - _EPOCH - offset).total_seconds())
