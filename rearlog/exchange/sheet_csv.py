"""The check sheet as CSV, to be filled in with a spreadsheet and read back.

Below a line with the cohort's name, one that says how to fill it in and an example stands the grid:

    example: A01,L3,L4 head=0.9,.
    individual,last stage,2026-03-09 Mon,2026-03-10 Tue
    A01,L3,.,L4 head=0.9
    A02,L3,dead(mould),
    temp min (C),,18.5,19
    temp max (C),,23,24
    initials,,KT,KT

What stands above the titles is not read. A blank cell: not looked at. `.` or `same`: no change.
Otherwise a stage or a fate with its details, as in the compact notation. The weekday behind a date
keeps spreadsheets from rewriting it.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from datetime import date, datetime
from typing import TextIO

from rearlog.exchange.celsius import NotATemperature, Unit, celsius
from rearlog.exchange.delimited import MOST_PROBLEMS, DelimitedTable, read_table
from rearlog.exchange.formula_text import disarmed
from rearlog.exchange.sheet import Sheet
from rearlog.exchange.sheet_grid import (
    INITIALS,
    TITLES,
    Grid,
    find_titles,
    lay_out,
    temperature_label,
)
from rearlog.exchange.written_dates import DateOrder
from rearlog.records.entries import parse, resolve, shortened
from rearlog.records.errors import EntryError, ImportRefused, Problem
from rearlog.records.fates import FATES
from rearlog.records.fields import BY_NAME, FIELDS, OF_ADULTS, detail_examples
from rearlog.records.incoming import Incoming, Placed
from rearlog.records.log import CohortLog, DayExtremes, Observation
from rearlog.records.times import read_moment

_KIND = "check sheet: "
_WANTED = f"a sheet has a line that begins with {','.join(TITLES)}, and then the dates"
_QUOTES = str.maketrans("“”„", '"""')
_LINE_ENDS = str.maketrans("\n\r", "  ")


def write(sheet: Sheet, stream: TextIO, *, unit: Unit = "C") -> None:
    """Write a sheet to a text stream (UTF-8, opened with `newline=""`).

    `unit` is that of the temperatures to be filled in. A byte-order mark tells spreadsheets the
    encoding.
    """
    states = " ".join((*(stage.code for stage in sheet.stages), *FATES))
    how = f". = no change; blank = not looked at; or one of: {states}; more: "
    details = detail_examples(each for each in FIELDS if each not in OF_ADULTS)
    how += f'dead(mould), L4 {details} "a note"; of adults: . {detail_examples(OF_ADULTS)}'
    empty = [""] * len(sheet.days)
    labels = [temperature_label("min", unit), temperature_label("max", unit), INITIALS]
    stream.write("\ufeff")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([_KIND + sheet.cohort, disarmed(sheet.species)])
    writer.writerow([disarmed(how)])
    writer.writerow([*map(disarmed, _example(sheet))])
    writer.writerow([*TITLES, *(f"{day} {day:%a}" for day in sheet.days)])
    writer.writerows(
        [disarmed(row.individual), disarmed(row.last_stage), *empty] for row in sheet.rows
    )
    writer.writerows([label, "", *empty] for label in labels)


def _example(sheet: Sheet) -> list[str]:
    """A row filled in: above the titles, so that nobody can take it for a record."""
    row = sheet.example
    head = BY_NAME["head_width_mm"]
    molt = row.seen[0]
    details = {molt: f"{molt} {head.word}={head.example}", "dead": "dead(mould)"}
    cells = [details.get(each, each) for each in row.seen]
    return [f"{row.individual}: {sheet.rows[0].individual}", row.last_stage, *cells]


def read(
    path: str | os.PathLike[str], log: CohortLog, now: datetime, *, dates: DateOrder | None = None
) -> Incoming:
    """The checks and temperatures in a filled sheet, and every cell that cannot be taken.

    A check stands at the cohort's check time of its day. The last stages that were filled in are
    not read. Raises ImportRefused for the sheet of another cohort, and where a date is not clear.
    """
    table = read_table(path, find_titles, _WANTED)
    _refuse_other_cohort(table, log.cohort.name)
    problems: list[Problem] = []
    grid = lay_out(table, log.by_code, dates, problems)
    checks = [
        placed
        for code, row in grid.individuals.items()
        for placed in _checks(grid, code, row, log, now, problems)
    ]
    days = tuple(_extremes(grid, now.date(), problems))
    return Incoming(tuple(checks), days, tuple(problems))


def _refuse_other_cohort(table: DelimitedTable, cohort: str) -> None:
    for row, cells in enumerate(table.rows[: table.header]):
        title = cells[0].strip() if cells else ""
        if title.startswith(_KIND) and title.removeprefix(_KIND) != cohort:
            message = f"this is the sheet of “{shortened(title.removeprefix(_KIND))}”"
            remedy = f"if it is the right one, write “{_KIND}{cohort}” into cell A{row + 1}"
            raise ImportRefused(Problem(message, table.name, remedy))


def _checks(
    grid: Grid, code: str, row: int, log: CohortLog, now: datetime, problems: list[Problem]
) -> Iterator[Placed]:
    """The checks in the row of an individual, in the order of the days."""
    cohort = log.cohort
    for column, day, text in grid.filled(row):
        if len(problems) >= MOST_PROBLEMS:
            return
        at = read_moment(day.isoformat(), cohort.zone, cohort.check_time, now)
        by = grid.cell(grid.initials, column) or None if grid.initials is not None else None
        try:
            check = _check(text, code, at, by, log)
        except EntryError as error:
            where = grid.place(row, column)
            problems += [Problem(each.message, where, each.remedy) for each in error.problems]
            continue
        yield Placed(check, grid.place(row, column), day_only=True)


def _check(text: str, code: str, at: datetime, by: str | None, log: CohortLog) -> Observation:
    """The check that a cell tells of an individual."""
    words = text.translate(_LINE_ENDS)
    if '"' not in words:  # spreadsheets bend the quotation marks that people type
        words = words.translate(_QUOTES)
    if words == "." or words.startswith(". "):
        words = f"same{words[1:]}"
    entries = parse(f"{code} {words}")
    if len(entries) != 1 or entries[0].who != code:
        raise EntryError(
            f"“{shortened(text)}” is not one state", "write one, such as L4, in a cell"
        )
    [check] = resolve(entries, log.cohort.species, [code], [code], at, by)
    return check


def _extremes(grid: Grid, today: date, problems: list[Problem]) -> Iterator[DayExtremes]:
    """The temperatures of the days for which both are filled in."""
    for column, day in grid.days.items():
        found: dict[str, float] = {}
        given = [
            (extreme, row, unit)
            for extreme, (row, unit) in grid.extremes.items()
            if grid.cell(row, column)
        ]
        if not given:
            continue
        where = grid.place(given[0][1], column)
        for extreme, row, unit in given:
            try:
                found[extreme] = celsius(grid.cell(row, column), "F" if unit == "F" else "C")
            except NotATemperature as mistake:
                where = grid.place(row, column)
                problems.append(Problem(mistake.message, where, mistake.remedy))
        if len(found) < len(given):
            continue
        if len(found) == 1:
            missing = "max" if "min" in found else "min"
            problems.append(Problem(f"the {missing} of the day is missing", where))
        elif found["min"] > found["max"]:
            problems.append(Problem("the minimum of the day is above its maximum", where))
        elif day > today:
            problems.append(Problem(f"{day} is still to come", where))
        else:
            yield DayExtremes(day, found["min"], found["max"], source=grid.table.name)
