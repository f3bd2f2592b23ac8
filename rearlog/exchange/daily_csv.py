"""The lowest and highest temperature of each day as CSV: `date,min_c,max_c`, or in °F."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from rearlog.exchange.celsius import UNNAMED_UNIT, NotATemperature, Unit, celsius
from rearlog.exchange.delimited import MOST_PROBLEMS, Rows, is_blank, read_table
from rearlog.exchange.written_dates import DateOrder, read_dates
from rearlog.records.command_text import CommandText
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import DayExtremes

_WANTED = "the first line names the columns: date,min_c,max_c or date,min_f,max_f, " + CommandText(
    "or date,min,max where --unit says which", "or date,min,max where °C or °F is chosen"
)
_UNITS: tuple[Unit | None, ...] = ("C", "F", None)


class DailyFile(Struct, frozen=True):
    """The days in a file, in order. `rows` lines told of them, `repeated` of these again."""

    days: tuple[DayExtremes, ...]
    rows: int
    repeated: int


def find_titles(rows: Rows) -> int | None:
    """The row with the column titles of this format, None where the first one has them not."""
    for place, row in enumerate(rows):
        if not is_blank(row):
            return place if _columns(row) is not None else None
    return None


def _columns(titles: Sequence[str]) -> tuple[Unit | None, int, int, int] | None:
    """The unit (None where the titles name none), and the columns of date, minimum, maximum."""
    known = [title.strip().casefold() for title in titles]
    for unit in _UNITS:
        ending = f"_{unit.lower()}" if unit else ""
        names = ("date", f"min{ending}", f"max{ending}")
        if all(known.count(name) == 1 for name in names):
            return unit, known.index(names[0]), known.index(names[1]), known.index(names[2])
    return None


def read_daily(
    path: str | os.PathLike[str],
    today: date,
    *,
    dates: DateOrder | None = None,
    unit: Unit | None = None,
) -> DailyFile:
    """Read the extremes of days; other columns are left alone, lines without both are passed over.

    `unit` is that of temperatures whose titles name none.

    Raises ImportRefused with every cell that cannot be taken: no date, a day still to come, no
    temperature, a minimum above its maximum, one day told in two ways.
    """
    table = read_table(path, find_titles, _WANTED, fallback="cp1252")
    columns = _columns(table.rows[table.header])
    assert columns is not None
    named, *wanted = columns
    at_date, at_min, at_max = range(3)
    unit = named or unit
    if unit is None:
        raise ImportRefused(Problem("no unit is named", table.name, UNNAMED_UNIT))
    cells = {
        row: [line[place].strip() if place < len(line) else "" for place in wanted]
        for row, line in enumerate(table.rows)
        if row > table.header and not is_blank(line)
    }
    known = read_dates({line[at_date] for line in cells.values()}, dates, table.name)
    problems: list[Problem] = []
    found: dict[date, tuple[DayExtremes, int]] = {}
    rows = repeated = 0
    for row, line in cells.items():
        if len(problems) >= MOST_PROBLEMS:
            break
        where = table.line(row)
        if not line[at_min] and not line[at_max]:
            continue
        rows += 1
        extremes = _extremes(line[at_min], line[at_max], unit, where, problems)
        day = _day(line[at_date], known, today, where, problems)
        if extremes is None or day is None:
            continue
        record = DayExtremes(day, *extremes, source=table.name)
        earlier, line_there = found.setdefault(day, (record, table.lines[row]))
        if earlier != record:
            message = f"{day} stands on line {line_there} with other temperatures"
            problems.append(Problem(message, where, "one day has one minimum and maximum"))
        elif line_there != table.lines[row]:
            repeated += 1
    if not found and not problems:
        problems.append(Problem("there is no temperature in it", table.name))
    if problems:
        raise ImportRefused(problems)
    return DailyFile(tuple(found[day][0] for day in sorted(found)), rows, repeated)


def _day(
    text: str, known: dict[str, date], today: date, where: str, problems: list[Problem]
) -> date | None:
    day = known.get(text)
    if day is None:
        message = f"“{shortened(text)}” is not a date"
        problems.append(Problem(message, f"{where}, column date", "write 2026-03-09"))
    elif day > today:
        problems.append(Problem(f"{day} is still to come", f"{where}, column date"))
        return None
    return day


def _extremes(
    low: str, high: str, unit: Unit, where: str, problems: list[Problem]
) -> tuple[float, float] | None:
    before = len(problems)
    values = []
    for name, text in (("min", low), ("max", high)):
        try:
            values.append(celsius(text, unit))
        except NotATemperature as mistake:
            here = f"{where}, column {name}"
            problems.append(Problem(mistake.message, here, mistake.remedy))
    if len(problems) > before:
        return None
    if values[0] > values[1]:
        problems.append(Problem(f"the minimum {low} is above the maximum {high}", where))
        return None
    return values[0], values[1]
