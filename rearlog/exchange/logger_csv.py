"""The readings of a temperature logger, in the text files of many makes.

A table with titles somewhere in the file, one column with the moment (or two: date, time) and one
with the temperature. Other columns, lines before the titles, blank lines and titles that come again
are passed over. Nothing but numbers is kept of the file, so text in an unknown encoding does no
harm: what is not UTF-8 is read as cp1252, for the sake of the degree sign.
"""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from itertools import pairwise
from statistics import median
from zoneinfo import ZoneInfo

from msgspec import Struct

from rearlog.exchange.celsius import (
    UNNAMED_UNIT,
    NotATemperature,
    Unit,
    celsius,
    is_number,
    unit_in,
)
from rearlog.exchange.clock_times import LocalClock, NoSuchTime, read_clock, split_moment
from rearlog.exchange.delimited import MOST_PROBLEMS, DelimitedTable, NoTitles, is_blank, read_table
from rearlog.exchange.logger_columns import Columns, Titles
from rearlog.exchange.written_dates import DateOrder, read_dates
from rearlog.records.command_text import CommandText
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import Readings

_TOO_HOT_TO_REAR_C = 40.0
"""Half of the readings above this, and no unit named: they may be °F."""
_SHORTEST_GAP_SECONDS = 3600
_MOST_READINGS = 600_000
"""A year of one a minute has 525,600."""

_WANTED = (
    "it has a title over the times and one such as “Temperature (°C)” over the temperatures; "
    + CommandText("name others with --time-column and --temperature-column", "or name its columns")
)


class LoggerOptions(Struct, frozen=True):
    """What a user may say about a logger's file; None leaves it to the file.

    `time_column` and `temperature_column` are titles. `clock_zone` is the zone of the logger's
    clock, where it is not the cohort's. `missing` is what stands where there is no reading.
    """

    time_column: str | None = None
    temperature_column: str | None = None
    unit: Unit | None = None
    dates: DateOrder | None = None
    clock_zone: str | None = None
    missing: str | None = None


class Gap(Struct, frozen=True):
    """Two neighbouring readings much farther apart than the others."""

    after: datetime
    until: datetime


class LoggerFile(Struct, frozen=True):
    """The readings in a file, and what was noticed on the way.

    `rows` lines had a temperature, `blank` had none; `repeated` told the same again; `reordered`
    stood after a later one; `twice` fell into the hour that comes twice in autumn.
    `step_seconds` is the usual time between readings (None for a single one). The file was read in
    `unit`, its times as those of `clock_zone`.
    """

    readings: Readings
    rows: int
    blank: int
    repeated: int
    reordered: int
    twice: int
    step_seconds: float | None
    gaps: tuple[Gap, ...]
    unit: Unit
    clock_zone: str


class _Line(Struct, frozen=True):
    row: int
    date: str
    clock: str
    temperature: str


def read_logger(
    path: str | os.PathLike[str], zone: str, now: datetime, options: LoggerOptions | None = None
) -> LoggerFile:
    """Read a logger's file.

    Times without an offset are local times of `options.clock_zone`, else at the offset that their
    title names, else of `zone`. Temperatures without a unit are °C. Raises ImportRefused with every
    line that cannot be taken: no date or time, no number, outside −30 to 60 °C, still to come, two
    temperatures at one moment; and where dates, columns or the unit are not clear.
    """
    options = options or LoggerOptions()
    titles = Titles(options.time_column, options.temperature_column)
    try:
        table = read_table(
            path, titles.find_header, _WANTED, fallback="cp1252", most_rows=_MOST_READINGS
        )
    except NoTitles:
        titles.refuse_unknown(
            read_table(path, titles.find_any_header, _WANTED, fallback="cp1252", most_rows=0)
        )
        raise
    columns = titles.columns(table)
    lines, unit_below = _lines(table, columns)
    unit = options.unit or columns.unit or unit_below
    clock: tzinfo = ZoneInfo(options.clock_zone or zone)
    if options.clock_zone is None and columns.offset is not None:
        clock = timezone(columns.offset)
    filled = [line for line in lines if _is_reading(line.temperature, options.missing)]
    problems: list[Problem] = []
    moments, twice = _instants(filled, table, clock, options.dates, now, problems)
    values = _celsius(filled, table, unit or "C", problems)
    if not filled:
        problems.append(Problem("there is no reading in it", table.name))
    if problems:
        raise ImportRefused(problems)
    if unit is None and median(values) > _TOO_HOT_TO_REAR_C:
        message = f"no unit is named, and half of the readings are above {_TOO_HOT_TO_REAR_C:g}"
        raise ImportRefused(Problem(message, table.name, UNNAMED_UNIT))
    curve = _once_each(moments, values, filled, table)
    steps = [later - earlier for earlier, later in pairwise(curve)]
    return LoggerFile(
        readings=_readings(curve, ZoneInfo(zone), table.name),
        rows=len(filled),
        blank=len(lines) - len(filled),
        repeated=len(filled) - len(curve),
        reordered=_reordered(moments),
        twice=twice,
        step_seconds=median(steps) if steps else None,
        gaps=_gaps(list(curve), steps, ZoneInfo(zone)),
        unit=unit or "C",
        clock_zone=str(clock),
    )


def _lines(table: DelimitedTable, columns: Columns) -> tuple[list[_Line], Unit | None]:
    """The lines below the titles, and the unit in a line of units right below them.

    Their cells are taken out of the table.
    """
    titles = table.rows[table.header]
    last = max(columns.date, columns.clock or 0, columns.temperature)
    lines: list[_Line] = []
    same: dict[str, str] = {}
    unit = None
    for row in range(table.header + 1, len(table.rows)):
        cells = table.rows[row]
        if len(cells) <= last:
            cells = [*cells, *[""] * (last + 1 - len(cells))]
        temperature = cells[columns.temperature].strip()
        if cells == titles or (not temperature and is_blank(cells)):
            continue
        if not lines and unit is None and not is_number(temperature) and unit_in(temperature):
            unit = unit_in(temperature)
            continue
        if columns.clock is not None:
            day, clock = cells[columns.date].strip(), cells[columns.clock].strip()
        else:
            day, clock = split_moment(cells[columns.date]) or (cells[columns.date].strip(), "")
        table.rows[row] = []  # a year of minutes takes much room: each text is kept once
        lines.append(
            _Line(row, *(same.setdefault(each, each) for each in (day, clock, temperature)))
        )
    return lines, unit


def _is_reading(cell: str, missing: str | None) -> bool:
    """Whether a cell holds something: not only signs such as “---”, nor the mark for nothing."""
    return cell != missing and any(map(str.isalnum, cell))


def _instants(
    lines: list[_Line],
    table: DelimitedTable,
    zone: tzinfo,
    order: DateOrder | None,
    now: datetime,
    problems: list[Problem],
) -> tuple[list[int], int]:
    """The instant of each line (seconds since 1970 UTC), and how many fell into a double hour."""
    days = read_dates({line.date for line in lines}, order, table.name)
    clocks = {text: read_clock(text) for text in {line.clock for line in lines}}
    local = LocalClock(zone)
    present = now.timestamp()
    instants = [0] * len(lines)
    for place in _forwards(lines, days, clocks):
        if len(problems) >= MOST_PROBLEMS:
            break
        line = lines[place]
        day, clock = days.get(line.date), clocks[line.clock]
        if day is None or clock is None:
            shown = shortened(f"{line.date} {line.clock}".strip())
            remedy = "write 2026-03-09 08:40, or take the line out"
            message = f"“{shown}” is not a date and time"
            problems.append(Problem(message, table.line(line.row), remedy))
            continue
        seconds, offset = clock
        try:
            if offset is None:
                instants[place] = local.instant(day, seconds)
            else:
                midnight = datetime(day.year, day.month, day.day, tzinfo=timezone(offset))
                instants[place] = int(midnight.timestamp()) + seconds
        except NoSuchTime:
            message = f"there is no {line.date} {line.clock} in {zone}: the clocks went forward"
            remedy = "the logger keeps another time: " + CommandText(
                "say which, such as --clock-zone UTC", "name the zone of its clock, such as UTC"
            )
            problems.append(Problem(message, table.line(line.row), remedy))
        if instants[place] > present:
            message = f"{line.date} {line.clock} is still to come"
            problems.append(Problem(message, table.line(line.row), "was the clock set right?"))
    return instants, local.twice


_Clocks = dict[str, tuple[int, timedelta | None] | None]


def _forwards(lines: list[_Line], days: dict[str, date], clocks: _Clocks) -> range:
    """The places of the lines in the file's order, from the end where the file runs backwards."""

    def when(line: _Line) -> tuple[date, int]:
        clock = clocks[line.clock]
        return days.get(line.date, date.min), clock[0] if clock else 0

    backwards = len(lines) > 1 and when(lines[0]) > when(lines[-1])
    return range(len(lines) - 1, -1, -1) if backwards else range(len(lines))


def _celsius(
    lines: list[_Line], table: DelimitedTable, unit: Unit, problems: list[Problem]
) -> list[float]:
    known: dict[str, float] = {}
    values = []
    for line in lines:
        if len(problems) >= MOST_PROBLEMS:
            break
        try:
            if line.temperature not in known:
                known[line.temperature] = celsius(line.temperature, unit)
            values.append(known[line.temperature])
        except NotATemperature as mistake:
            problems.append(Problem(mistake.message, table.line(line.row), mistake.remedy))
    return values


def _once_each(
    moments: list[int], values: list[float], lines: list[_Line], table: DelimitedTable
) -> dict[int, float]:
    """Each moment's temperature in time order; raises ImportRefused where there are two."""
    curve: dict[int, float] = {}
    seen: dict[int, int] = {}
    problems = []
    for moment, value, line in zip(moments, values, lines, strict=True):
        earlier = seen.setdefault(moment, line.row)
        if curve.setdefault(moment, value) != value:
            message = f"another temperature at the moment of line {table.lines[earlier]}"
            problems.append(Problem(message, table.line(line.row), "take one of the two out"))
        if len(problems) >= MOST_PROBLEMS:
            break
    if problems:
        raise ImportRefused(problems)
    return dict(sorted(curve.items()))


def _reordered(moments: list[int]) -> int:
    latest, count = moments[0], 0
    for moment in moments:
        count += moment < latest
        latest = max(latest, moment)
    return count


def _readings(curve: dict[int, float], zone: ZoneInfo, source: str) -> Readings:
    first = next(iter(curve))
    seconds = tuple(moment - first for moment in curve)
    return Readings(_local(first, zone), seconds, tuple(curve.values()), source)


def _gaps(moments: list[int], steps: list[int], zone: ZoneInfo) -> tuple[Gap, ...]:
    limit = max(_SHORTEST_GAP_SECONDS, 2 * median(steps)) if steps else 0
    return tuple(
        Gap(_local(earlier, zone), _local(later, zone))
        for earlier, later in pairwise(moments)
        if later - earlier > limit
    )


def _local(moment: int, zone: ZoneInfo) -> datetime:
    """The instant in a zone, with its offset alone."""
    local = datetime.fromtimestamp(moment, UTC).astimezone(zone)
    return local.replace(tzinfo=timezone(local.utcoffset() or timedelta(0)))
