"""How a record reads: in messages, in tables, and in the words of the compact notation."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from rearlog.records.fields import DETAILS, Observation


def counted(number: int, word: str) -> str:
    """A number of things: 1 check, 2 checks."""
    return f"{number:,} {word}{'s' * (number != 1)}"


def first_few(names: Sequence[str], most: int, word: str) -> str:
    """The first of some names, and how many more things there are: a, b and 2 more cohorts."""
    more = len(names) - most
    told = ", ".join(names[:most])
    return f"{told} and {more:,} more {word}{'s' * (more > 1)}" if more > 0 else told


def stamp(instant: datetime) -> str:
    """Date and time to the minute, as people write them here."""
    return instant.strftime("%Y-%m-%d %H:%M")


def day_stamp(instant: datetime) -> str:
    """Weekday, date and time: for what was just written down, so that a wrong day is noticed."""
    return f"{instant:%a} {stamp(instant)}"


def weekday(day: date) -> str:
    """A calendar day of these weeks, as people speak of it."""
    return f"{day:%a} {day.day} {day:%b}"


def days_between(first: date, last: date) -> str:
    """The calendar days from one to another (or the one, where they are the same)."""
    if first == last:
        return weekday(first)
    begin = weekday(first)
    if (first.year, first.month) == (last.year, last.month):
        begin = f"{first:%a} {first.day}"
    return f"{begin} to {weekday(last)}"


def day_runs(days: Sequence[date]) -> list[tuple[date, date]]:
    """Calendar days in order, those that follow each other as the first and the last of a run."""
    runs: list[tuple[date, date]] = []
    for day in days:
        if runs and day - runs[-1][1] == timedelta(1):
            runs[-1] = runs[-1][0], day
        else:
            runs.append((day, day))
    return runs


def spelled(codes: Sequence[str], order: Sequence[str]) -> str:
    """Some of the codes that stand in `order`, long runs by their first and last alone."""
    return ", ".join(in_runs(codes, order))


def in_runs(codes: Sequence[str], order: Sequence[str]) -> list[str]:
    """What `spelled` has between its commas."""
    place = {code: number for number, code in enumerate(order)}
    runs: list[list[str]] = []
    for code in codes:
        if runs and place[runs[-1][-1]] + 1 == place[code]:
            runs[-1].append(code)
        else:
            runs.append([code])
    return [each for run in runs for each in (run if len(run) < 3 else [f"{run[0]} to {run[-1]}"])]


def in_stage(least: int, most: int) -> str:
    """For how many days something has been in its stage, as far as looks tell."""
    if least == most:
        return counted(least, "day")
    return f"{least} to {most} days (nobody looked)"


def overdue(days: float) -> str:
    """That something is overdue, and for how many whole days."""
    whole = int(days)
    return f"overdue {whole} day{'s' * (whole > 1)}" if whole else "overdue"


def record_name(number: int | None, kind: str = "") -> str:
    """A record's number as it is written everywhere: @24, and @T3 for a temperature (`kind` T)."""
    return f"@{kind}{number}"


def record_names(numbers: Sequence[int]) -> str:
    """The numbers of records in order: @1, @6–10."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(record_name(run[0]) + (f"–{run[-1]}" if len(run) > 1 else "") for run in runs)


def said(check: Observation) -> str:
    """The state that a check shows, in the words of the notation."""
    if check.fate is None:
        return "same" if check.same else check.stage or ""
    return f"{check.fate}({check.cause})" if check.cause else check.fate


def named(check: Observation) -> str:
    """Individual, time and record number of a check, for a message."""
    number = f" ({record_name(check.number)})" if check.number else ""
    return f"{check.individual} at {stamp(check.at)}{number}"


def line_of(check: Observation) -> str:
    """One record as an entry of the notation."""
    parts = [check.individual, said(check)]
    for word, detail in DETAILS.items():
        value = getattr(check, detail.name)
        if value is True:
            parts.append(word)
        elif value is not None and value is not False:
            parts.append(f"{word}={value:g}" if isinstance(value, float) else f"{word}={value}")
    parts += [f'"{check.note}"'] if check.note else []
    return " ".join(parts)


def shortened_apart(names: Sequence[str], length: int) -> tuple[str, ...]:
    """Names that fit a length, no two alike that were not: the longer ones lose what matters least.

    They are cut in the middle, or beside the part in which those that would be alike differ.
    """
    shown = {name: name if len(name) <= length else _cut(name, length) for name in names}
    for cut in set(shown.values()):
        alike = [name for name in shown if shown[name] == cut]
        if len(alike) > 1:
            shown |= _told_apart(alike, length)
    taken: set[str] = set()
    for place, name in enumerate(shown, start=1):
        if shown[name] in taken:  # they differ in more places than there is room for
            number = f"…{place}"
            shown[name] = name[: max(0, length - len(number))] + number
        taken.add(shown[name])
    return tuple(shown[name] for name in names)


def _cut(name: str, length: int) -> str:
    """Its beginning and its end."""
    tail = (length - 1) // 2
    return f"{name[: length - 1 - tail]}…{name[len(name) - tail :]}"


def _shared(names: Sequence[str]) -> int:
    """How many characters all of them begin with."""
    least, most = min(names), max(names)
    pairs = enumerate(zip(least, most, strict=False))
    return next((place for place, (one, other) in pairs if one != other), len(least))


def _told_apart(alike: Sequence[str], length: int) -> dict[str, str]:
    """The names as beginning, the part from where to where they differ, and end."""
    head = _shared(alike)
    tail = min(_shared([name[::-1] for name in alike]), min(map(len, alike)) - head)
    found = {}
    for name in alike:
        core = name[head : len(name) - tail]
        room = max(0, length - 2 - len(core))
        before = min(head, room - min(tail, room // 2))
        after = min(tail, room - before)
        found[name] = (
            f"{name[:before]}…{core}…{name[len(name) - after :]}"
            if len(core) <= length - 2
            else f"{core[: length - 1]}…"
        )
    return found
