"""Finding one's way in a filled check sheet: which row is whose, which column is which day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import islice

from msgspec import Struct

from rearlog.exchange.codes import Codes
from rearlog.exchange.delimited import MOST_PROBLEMS, DelimitedTable, Rows, is_blank
from rearlog.exchange.written_dates import DateOrder, read_dates
from rearlog.records.entries import shortened
from rearlog.records.errors import Problem

TITLES = ("individual", "last stage")
INITIALS = "initials"
_EXTREME = re.compile(r"temp(?:erature)? (min|max)(?: \(?°?([cf])\)?)?")


def temperature_label(extreme: str, unit: str) -> str:
    """The first cell of a row for temperatures: `extreme` is min or max, `unit` C or F."""
    return f"temp {extreme} ({unit})"


def find_titles(rows: Rows) -> int | None:
    """The row with the titles and the days, None where there is none."""
    for place, row in enumerate(rows):
        if tuple(cell.strip().casefold() for cell in row[:2]) == TITLES:
            return place
    return None


class Grid(Struct, frozen=True):
    """A sheet's rows and columns by what they stand for.

    `days` has the day of each column, in the order of the days; `individuals` the row of each
    code; `extremes` the row of min and max with the unit that it names (C or F); `initials` the
    row of who looked, if there is one.
    """

    table: DelimitedTable
    days: dict[int, date]
    individuals: dict[str, int]
    extremes: dict[str, tuple[int, str]]
    initials: int | None

    def cell(self, row: int, column: int) -> str:
        """What stands in a cell, without blanks around it; spreadsheets drop empty cells."""
        cells = self.table.rows[row]
        return cells[column].strip() if column < len(cells) else ""

    def filled(self, row: int) -> Iterator[tuple[int, date, str]]:
        """The cells of a row with something in them: column, day and text."""
        for column, day in self.days.items():
            if text := self.cell(row, column):
                yield column, day, text

    def place(self, row: int, column: int) -> str:
        """Where a cell stands, for a message."""
        whose = self.cell(row, 0)
        return (
            f"{self.table.name}, row {row + 1} ({shortened(whose)}), "
            f"column {self.days[column]}, cell {cell_name(row, column)}"
        )


def cell_name(row: int, column: int) -> str:
    """A cell's name in a spreadsheet: row 6 and column 5 (from 0) are F7."""
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row + 1}"


def lay_out(
    table: DelimitedTable, codes: Iterable[str], order: DateOrder | None, problems: list[Problem]
) -> Grid:
    """Find the rows and columns; what cannot be told apart is added to `problems`.

    Raises ImportRefused where the order of day and month in the dates is not clear.
    """
    days = _days(table, order, problems)
    known = Codes(codes)
    individuals: dict[str, int] = {}
    extremes: dict[str, tuple[int, str]] = {}
    initials: list[int] = []
    named = shortened(str(known))
    for row in range(table.header + 1, len(table.rows)):
        if len(problems) >= MOST_PROBLEMS:
            break
        cells = table.rows[row]
        label = cells[0].strip() if cells else ""
        where = f"{table.name}, row {row + 1}, cell {cell_name(row, 0)}"
        extreme = _EXTREME.fullmatch(label.casefold())
        code = known.find(label)
        if label.casefold() == INITIALS:
            repeated = bool(initials)
            initials.append(row)
        elif extreme is not None:
            repeated = extreme[1] in extremes
            extremes[extreme[1]] = row, (extreme[2] or "c").upper()
        elif code is not None:
            repeated = code in individuals
            individuals[code] = row
        else:
            repeated = False
            if not is_blank(cells[len(TITLES) :]):
                remedy = f"this cohort has {named}"
                problems.append(Problem(f"no individual “{shortened(label)}”", where, remedy))
        if repeated:
            problems.append(Problem(f"a second row “{shortened(label)}”", where))
    return Grid(table, days, individuals, extremes, initials[0] if initials else None)


def _days(
    table: DelimitedTable, order: DateOrder | None, problems: list[Problem]
) -> dict[int, date]:
    titles = {
        column: cell.strip()
        for column, cell in enumerate(table.rows[table.header])
        if column >= len(TITLES) and cell.strip()
    }
    known = read_dates(set(titles.values()), order, table.name)
    days: dict[int, date] = {}
    given: set[date] = set()
    for column, title in titles.items():
        where = f"{table.name}, row {table.header + 1}, cell {cell_name(table.header, column)}"
        if title not in known:
            message = f"“{shortened(title)}” is not a date"
            problems.append(Problem(message, where, "write 2026-03-09"))
        elif known[title] in given:
            problems.append(Problem(f"a second column {known[title]}", where))
        else:
            days[column] = known[title]
            given.add(known[title])
    untitled = (
        (row, column)
        for row in range(table.header + 1, len(table.rows))
        for column, cell in enumerate(table.rows[row])
        if cell.strip() and column >= len(TITLES) and column not in titles
    )
    for row, column in islice(untitled, MOST_PROBLEMS):
        where = f"{table.name}, row {row + 1}, cell {cell_name(row, column)}"
        problems.append(Problem("there is no date above it", where))
    return dict(sorted(days.items(), key=lambda item: item[1]))
