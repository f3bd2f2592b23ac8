"""Dates and times as people type them. This is where pendulum is.

It is imported where it is used: most commands need none of it.

Accepted: `2026-03-09`, `2026-03-09T08:40`, `today`, `yesterday`, a weekday, `9 March` (the last
one) or `9 March 2026`, each with a time behind it. Dates such as 03/09/26 are refused: nobody can
know which is the month.
"""

from __future__ import annotations

import contextlib
import re
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from rearlog.records.clock import FARTHEST_HOURS, YEARS, with_offset
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july", "august", "september"),
    *("october", "november", "december"),
)
_DAY_OF_MONTH = re.compile(r"(\d{1,2})\.?\s+([a-z]{3,9})\.?(?:,?\s+(\d{4}))?")
_MONTH_FIRST = re.compile(r"([a-z]{3,9})\.?\s+(\d{1,2})(?:,?\s+(\d{4}))?")
_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2})[T ](\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?(.*)", re.S)
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
YEARS_AHEAD = 10
"""A date is of no year so far ahead of the present: it is a slip."""

_REMEDY = "write 2026-03-09, 2026-03-09T08:40, 9 March, today, yesterday, or a weekday"


def now(zone: str) -> datetime:
    """The present moment in a zone, to the second."""
    return with_offset(datetime.now(ZoneInfo(zone)))


def check_zone(zone: str) -> str:
    """The zone's name as it is; raises UsageError where there is no such zone."""
    try:
        ZoneInfo(zone)
    except (KeyError, OSError, ValueError) as error:  # OSError: a folder of zones
        remedy = "write a name such as Europe/London, America/Chicago or UTC"
        raise UsageError(f"there is no time zone “{zone[:40]}”", remedy) from error
    return zone


def local_zone() -> str:
    """The name of this machine's zone."""
    from pendulum.tz import get_local_timezone  # start-up time

    name = getattr(get_local_timezone(), "name", "UTC")
    return name if isinstance(name, str) and name else "UTC"


def read_clock(text: str) -> str:
    """A time of day as HH:MM; raises UsageError where it is none."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        raise UsageError(f"“{text}” is not a time of day", "write HH:MM, such as 08:40")
    return f"{int(match[1]):02d}:{match[2]}"


def latest(today: date) -> date:
    """The last day that anybody can mean."""
    return date(min(today.year + YEARS_AHEAD, date.max.year - 1), 12, 31)


def possible(day: date, today: date) -> date:
    """The day itself; raises UsageError where nobody can mean it."""
    last = latest(today)
    told = f"a date is from {YEARS[0]} to {last.year}"
    if day.year < YEARS[0]:
        raise UsageError(f"the year {day.year} cannot be", told)
    if day > last:
        raise UsageError(f"{day} is too far in the future", told)
    return day


def day_to_come(text: str, today: date) -> date:
    """A day as programs write it, that may be (see `possible`); raises UsageError for others."""
    try:
        return possible(date.fromisoformat(text), today)
    except ValueError:
        raise UsageError(f"“{text[:40]}” is not a day to come", "write it as 2026-04-10") from None


def read_date(text: str, today: date) -> date:
    """A calendar day as people type it; raises UsageError where it cannot be read, or be meant."""
    word = text.strip().lower()
    if word == "today":
        return today
    if word == "yesterday":
        return today - timedelta(days=1)
    days = [day for day in _WEEKDAYS if len(word) >= 3 and day.startswith(word)]
    if days:
        back = (today.weekday() - _WEEKDAYS.index(days[0])) % 7
        return today - timedelta(days=back)
    match = _DATE.fullmatch(word)
    try:
        if match is None:
            return possible(_day_of_month(word, today), today)
        day = date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        raise UsageError(f"“{text[:40]}” is not a date", _REMEDY) from None
    return possible(day, today)


def _day_of_month(word: str, today: date) -> date:
    """The day of such as `9 march`, the last one where no year is told; ValueError for others."""
    if match := _DAY_OF_MONTH.fullmatch(word):
        number, name, year = match.groups()
    elif match := _MONTH_FIRST.fullmatch(word):
        name, number, year = match.groups()
    else:
        raise ValueError
    months = [place for place, month in enumerate(_MONTHS, start=1) if month.startswith(name)]
    if not months:
        raise ValueError
    if year:
        return date(int(year), months[0], int(number))
    for each in range(today.year, today.year - 9, -1):  # 29 February may be eight years ago
        with contextlib.suppress(ValueError):
            if (day := date(each, months[0], int(number))) <= today:
                return day
    raise ValueError


def read_moment(text: str, zone: str, check_time: str, at_present: datetime) -> datetime:
    """A date, or a date and time, as an instant in a zone.

    A date alone stands at `check_time`; today's, where that is still to come, stands at present.
    Raises UsageError where it cannot be read.
    """
    match = _MOMENT.fullmatch(text.strip())
    if match is None:
        words = text.split()
        if len(words) > 1 and _CLOCK.fullmatch(words[-1]):
            day = read_date(" ".join(words[:-1]), at_present.date())
            return at_clock(day, read_clock(words[-1]), zone)
        day = read_date(text, at_present.date())
        moment = at_clock(day, check_time, zone)
        return at_present if day == at_present.date() and moment > at_present else moment
    try:
        if match[5]:
            # microseconds are noise here, and pendulum's parser is stricter than fromisoformat
            moment = datetime.fromisoformat(text.strip()).replace(microsecond=0)
            if abs(moment.utcoffset() or timedelta()) > timedelta(hours=FARTHEST_HOURS):
                raise ValueError
            possible(moment.date(), at_present.date())
            return moment
        day = possible(date.fromisoformat(match[1]), at_present.date())
        hour, minute, second = int(match[2]), int(match[3]), int(match[4] or 0)
        return _local(day, (hour, minute, second), zone)
    except ValueError:
        raise UsageError(f"“{text[:40]}” is not a date and time", _REMEDY) from None


def meant(as_of: str | None, zone: str, check_time: str, at_present: datetime) -> datetime:
    """The moment that an answer is asked for: of a day its end, and the present at the latest.

    None is the present. Raises UsageError for a text that cannot be read, or a time to come.
    """
    if as_of is None:
        return at_present
    moment = read_moment(as_of, zone, check_time, at_present)
    if moment > at_present:
        remedy = CommandText(
            "leave --as-of out for what is known now", "leave it empty for what is known now"
        )
        raise UsageError(f"{as_of[:40]} is in the future", remedy)
    if "T" in as_of or ":" in as_of:
        return moment
    midnight = at_clock(moment.date() + timedelta(days=1), "00:00", zone)
    return min(at_present, midnight - timedelta(seconds=1))


def at_clock(day: date, clock: str, zone: str) -> datetime:
    """The instant of a time of day (HH:MM) on a calendar day in a zone."""
    hour, minute = clock.split(":")
    return _local(day, (int(hour), int(minute), 0), zone)


def _local(day: date, clock: tuple[int, int, int], zone: str) -> datetime:
    """The instant of hour, minute and second on a day; times that a clock skips come later."""
    plain = datetime(day.year, day.month, day.day, *clock, tzinfo=ZoneInfo(zone))
    if plain.utcoffset() == plain.replace(fold=1).utcoffset():  # not skipped, not there twice
        return with_offset(plain)
    import pendulum  # start-up time

    return with_offset(pendulum.datetime(day.year, day.month, day.day, *clock, tz=zone))
