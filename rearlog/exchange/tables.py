"""Tables whose layout is said once: for writing them, reading them, and describing them."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, Literal

from rearlog.exchange.delimited import MOST_PROBLEMS, Rows, Table, is_blank, read_table
from rearlog.exchange.formula_text import disarmed, restored
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem

Kind = Literal["string", "number", "integer", "boolean", "date", "datetime"]
Row = Mapping[str, Any]

# what is no text in XML, nor anywhere else: control characters, surrogates, non-characters
_NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NUMBER = re.compile(r"[+-]?(\d+(?:\.\d*)?|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its kind of value (the type in the description), its unit, and its bounds.

    Yes is written for a true boolean; for a false one no where a value is required, else nothing.
    """

    name: str
    kind: Kind
    description: str
    unit: str | None = None
    required: bool = False
    among: tuple[str, ...] = ()
    pattern: str | None = None
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True, slots=True)
class Reference:
    """That the cells of these columns stand in those of the same names in another table."""

    columns: tuple[str, ...]
    table: str


@dataclass(frozen=True, slots=True)
class Layout:
    """One table: its columns in order, and the `key`, the columns that tell its rows apart."""

    name: str
    title: str
    description: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    references: tuple[Reference, ...] = ()

    @property
    def file(self) -> str:
        """The name of the table's file."""
        return f"{self.name}.csv"

    def column(self, name: str) -> Column:
        """The column of this name; KeyError where there is none."""
        return {each.name: each for each in self.columns}[name]

    def without(self, names: Collection[str]) -> Layout:
        """The layout less some columns."""
        return replace(self, columns=tuple(each for each in self.columns if each.name not in names))


@dataclass(frozen=True, slots=True)
class Line:
    """The values of a row that was read, by column (None for a blank), and where it stands."""

    values: dict[str, Any]
    place: str

    def __getitem__(self, name: str) -> Any:
        return self.values[name]


def cleaned(text: str) -> str:
    """The text without control characters, which no table or XML file should hold."""
    return _NOT_TEXT.sub("", text)


def write(layout: Layout, rows: Iterable[Row]) -> bytes:
    """Rows as RFC 4180 CSV in UTF-8.

    Text is cleaned of control characters, and disarmed where a spreadsheet would run it.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(column.name for column in layout.columns)
    for row in rows:
        writer.writerow(cell_of(column, row[column.name]) for column in layout.columns)
    return out.getvalue().encode()


def cell_of(column: Column, value: Any) -> str:
    """A value as the text of a cell."""
    if value is None:
        return ""
    if column.kind == "boolean":
        return "yes" if value else "no" if column.required else ""
    if column.kind == "number":
        return repr(float(value)).removesuffix(".0")
    if column.kind in ("date", "datetime"):
        return str(value.isoformat())
    return disarmed(cleaned(value)) if column.kind == "string" else str(value)


def read(path: Path, layout: Layout, problems: list[Problem]) -> list[Line]:
    """The rows of a file; `problems` gets whatever cannot be taken, at its place.

    Columns that need not be filled may be missing; others than those of the layout are refused.
    """
    wanted = "the first line names the columns: " + ",".join(each.name for each in layout.columns)
    try:
        table = read_table(path, lambda rows: _titles(rows, layout), wanted)
    except ImportRefused as refusal:
        problems += refusal.problems
        return []
    if not _titles_fit(table, layout, problems):
        return []
    lines = []
    for row in range(table.header + 1, len(table.rows)):
        if not is_blank(table.rows[row]) and (line := _line(table, row, layout, problems)):
            lines.append(line)
        if len(problems) >= MOST_PROBLEMS:
            break
    problems += _twice(lines, layout)
    return lines


def _titles(rows: Rows, layout: Layout) -> int | None:
    known = {column.name for column in layout.columns}
    return 0 if rows and len(known.intersection(rows[0])) >= 2 else None


def _titles_fit(table: Table, layout: Layout, problems: list[Problem]) -> bool:
    titles, where = table.rows[table.header], table.line(table.header)
    known = {column.name: column.required for column in layout.columns}
    found = [
        *(Problem(f"the column {each} is missing", where)
          for each, required in known.items() if required and each not in titles),
        *(Problem(f"the column {shortened(each)} is not known", where, "take it out")
          for each in dict.fromkeys(titles) if each not in known),
        *(Problem(f"the column {each} is there twice", where)
          for each in known if titles.count(each) > 1),
    ]  # fmt: skip
    problems += found
    return not found


def _line(table: Table, row: int, layout: Layout, problems: list[Problem]) -> Line | None:
    titles, cells, where = table.rows[table.header], table.rows[row], table.line(row)
    if len(cells) != len(titles):
        message = f"its {len(cells)} cells do not fit the {len(titles)} titles"
        problems.append(Problem(message, where))
        return None
    by_title = dict(zip(titles, cells, strict=True))
    values: dict[str, Any] = {}
    before = len(problems)
    for column in layout.columns:
        try:
            values[column.name] = value_of(column, by_title.get(column.name, ""))
        except ValueError as error:
            problems.append(Problem(str(error), f"{where}, column {column.name}"))
    return Line(values, where) if len(problems) == before else None


def value_of(column: Column, cell: str) -> Any:
    """The value in a cell, None for a blank one; raises ValueError with what is wrong."""
    if not cell.strip():
        if column.required:
            raise ValueError("the cell is empty")
        return False if column.kind == "boolean" else None
    try:
        value = _READERS[column.kind](cell)
    except ValueError:
        raise ValueError(f"“{shortened(cell)}” is not {_WANTED[column.kind]}") from None
    if column.among and value not in column.among:
        raise ValueError(f"“{shortened(cell)}” is not one of {', '.join(column.among)}")
    if column.pattern and not re.fullmatch(column.pattern, value):
        raise ValueError(f"“{shortened(cell)}” cannot be a {column.name}")
    if column.least is not None and value < column.least:
        raise ValueError(f"{cell} is below {column.least:g}")
    if column.most is not None and value > column.most:
        raise ValueError(f"{cell} is above {column.most:g}")
    return value


def _number(cell: str) -> float:
    if not _NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
        raise ValueError
    return float(cell)


def _yes(cell: str) -> bool:
    if cell not in ("yes", "no"):
        raise ValueError
    return cell == "yes"


def _moment(cell: str) -> datetime:
    moment = datetime.fromisoformat(cell)
    if moment.utcoffset() is None:
        raise ValueError
    return moment


_READERS: dict[Kind, Callable[[str], Any]] = {
    "string": restored,
    "number": _number,
    "integer": int,
    "boolean": _yes,
    "date": date.fromisoformat,
    "datetime": _moment,
}

_WANTED: dict[Kind, str] = {
    "string": "a text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "yes or no",
    "date": "a date such as 2026-03-09",
    "datetime": "a time with its offset, such as 2026-03-09T08:40:00+00:00",
}


def _twice(lines: Iterable[Line], layout: Layout) -> list[Problem]:
    first: dict[tuple[Any, ...], str] = {}
    problems = []
    for line in lines:
        key = tuple(line[name] for name in layout.key)
        earlier = first.setdefault(key, line.place)
        if earlier != line.place:
            number = earlier.rpartition("line ")[2]
            message = f"{' '.join(map(str, key))} stands on line {number} already"
            problems.append(Problem(message, line.place))
        if len(problems) >= MOST_PROBLEMS:
            break
    return problems
