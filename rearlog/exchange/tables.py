"""Tables whose layout is said once: for writing them, reading them, and describing them."""

from __future__ import annotations

import csv
import math
import os
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from itertools import zip_longest
from pathlib import Path
from typing import Any, Literal, TextIO

from msgspec import Struct
from msgspec.structs import replace

from rearlog.exchange.delimited import MOST_PROBLEMS, DelimitedTable, Rows, is_blank, read_table
from rearlog.exchange.formula_text import disarmed, restored
from rearlog.exchange.packed import Packed
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.typed_words import values_of
from rearlog.records.wording import stamp

Kind = Literal["string", "number", "integer", "boolean", "date", "datetime"]
Row = Mapping[str, Any]

# what is no text in XML, nor anywhere else: control characters, surrogates, non-characters
_NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_MOST_REMEMBERED = 20_000
_NUMBER = re.compile(r"[+-]?(\d+(?:\.\d*)?|\.\d+)([eE][+-]?\d+)?")


class TableColumn(Struct, frozen=True):
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


class Reference(Struct, frozen=True):
    """That the cells of these columns stand in those of the same names in another table."""

    columns: tuple[str, ...]
    table: str


class Layout(Struct, frozen=True):
    """One table: its columns in order, and the `key`, the columns that tell its rows apart."""

    name: str
    title: str
    description: str
    columns: tuple[TableColumn, ...]
    key: tuple[str, ...]
    references: tuple[Reference, ...] = ()

    @property
    def file(self) -> str:
        """The name of the table's file."""
        return f"{self.name}.csv"

    def column(self, name: str) -> TableColumn:
        """The column of this name; KeyError where there is none."""
        return {each.name: each for each in self.columns}[name]

    def without(self, names: Collection[str]) -> Layout:
        """The layout less some columns."""
        return replace(self, columns=tuple(each for each in self.columns if each.name not in names))


class Line(Struct, frozen=True):
    """The values of a row that was read, by column (None for a blank), and where it stands."""

    values: dict[str, Any]
    place: str

    def __getitem__(self, name: str) -> Any:
        return self.values[name]


def cleaned(text: str) -> str:
    """The text without control characters, which no table or XML file should hold."""
    return _NOT_TEXT.sub("", text)


class TableWriter:
    """Writes a table as RFC 4180 CSV to a stream of text (opened with `newline=""`).

    Text is cleaned of control characters, and disarmed where a spreadsheet would run it.
    """

    def __init__(self, layout: Layout, stream: TextIO) -> None:
        self._columns = layout.columns
        self._writer = csv.writer(stream, lineterminator="\r\n")
        self._writer.writerow(column.name for column in layout.columns)

    def write(self, rows: Iterable[Row]) -> None:
        """Write some more rows."""
        for row in rows:
            self._writer.writerow(cell_of(each, row[each.name]) for each in self._columns)


def packed_tables(
    layouts: Iterable[Layout], parts: Iterable[Mapping[str, Iterable[Row]]]
) -> dict[str, Packed]:
    """Several tables by the names of their files. Each of the parts, which are gone through once,
    has further rows of each, by the names of the layouts."""
    files, writers = {}, {}
    for each in layouts:
        files[each.file] = Packed()
        writers[each.name] = TableWriter(each, files[each.file].text)
    for part in parts:
        for name, rows in part.items():
            writers[name].write(rows)
    return files


def cell_of(column: TableColumn, value: Any) -> str:
    """A value as the text of a cell."""
    if value is None:
        return ""
    if column.kind == "boolean":
        return "yes" if value else "no" if column.required else ""
    if column.kind == "number":
        return repr(float(value))  # 20.0, not 20: a reader takes a column for one type
    if column.kind in ("date", "datetime"):
        return str(value.isoformat())
    return disarmed(cleaned(value)) if column.kind == "string" else str(value)


def read(path: Path, layout: Layout, problems: list[Problem]) -> list[Line]:
    """The rows of a file; `problems` gets whatever cannot be taken, at its place.

    Columns that need not be filled may be missing; others than those of the layout are refused.
    """
    try:
        table = titled(path, layout)
    except ImportRefused as refusal:
        problems += refusal.problems
        return []
    lines = [line for line, _ in lines_of(table, layout, problems)]
    problems += repeated((tuple(line[name] for name in layout.key), line.place) for line in lines)
    return lines


def titled(
    path: str | os.PathLike[str], layout: Layout, extra: str | None = "take it out"
) -> DelimitedTable:
    """The table in a file; its first line names columns of the layout, whatever their case.

    `extra` says what to do about other columns; None: they are passed over. Raises ImportRefused
    where the file cannot be read, or its titles are wrong.
    """
    known = {column.name: column.required for column in layout.columns}
    table = read_table(
        path,
        lambda rows: _find_titles(rows, known),
        "the first line names the columns: " + ",".join(known),
    )
    where = table.line(table.header)
    titles = Counter(filter(None, _titles(table, layout)))
    problems = []
    for name, count in titles.items():
        if count > 1:
            problems.append(Problem(f"the column {shortened(name)} is there twice", where))
        if name not in known and extra is not None:
            problems.append(Problem(f"the column {shortened(name)} is not known", where, extra))
    problems += [
        Problem(f"the column {name} is missing", where)
        for name, required in known.items()
        if required and name not in titles
    ]
    if problems:
        raise ImportRefused(problems)
    return table


def _find_titles(rows: Rows, known: Collection[str]) -> int | None:
    for place, row in enumerate(rows):
        if not is_blank(row):
            found = {cell.strip().casefold() for cell in row}
            return place if len(found.intersection(map(str.casefold, known))) >= 2 else None
    return None


def _titles(table: DelimitedTable, layout: Layout) -> list[str]:
    """The titles, those of the layout as it spells them."""
    known = {column.name.casefold(): column.name for column in layout.columns}
    titles = (cell.strip() for cell in table.rows[table.header])
    return [known.get(title.casefold(), title) for title in titles]


CellReader = Callable[[str], Any]
"""Reads a cell that is not blank; raises NoValue."""


class NoValue(ValueError):
    """A cell that cannot be taken; says why, and what would be right."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.message, self.remedy = message, remedy


def lines_of(
    table: DelimitedTable,
    layout: Layout,
    problems: list[Problem],
    readers: Mapping[str, CellReader] | None = None,
) -> Iterator[tuple[Line, Mapping[str, str]]]:
    """The rows below the titles, and their cells as they were written.

    `readers` are those of some columns, instead of the one for their kind. `problems` gets what
    cannot be taken; rows with such cells are left out, and after many the rest of the file.
    """
    titles = _titles(table, layout)
    own = readers or {}
    read_cell = {
        each.name: _remembering(each, own.get(each.name) or _reader_of(each))
        for each in layout.columns
    }
    places = {
        column: titles.index(column.name) for column in layout.columns if column.name in titles
    }
    missing = {
        column.name: value_of(column, "") for column in layout.columns if column not in places
    }
    for row in range(table.header + 1, len(table.rows)):
        cells, where = table.rows[row], table.line(row)
        if len(problems) >= MOST_PROBLEMS:
            return
        if is_blank(cells):
            continue
        before = len(problems)
        if _fits(cells, titles, places.values()):
            values = {**missing}
            for column, place in places.items():
                cell = cells[place]
                if column.kind == "number" and table.separator != ",":
                    cell = cell.replace(",", ".", 1)
                try:
                    values[column.name] = read_cell[column.name](cell)
                except NoValue as mistake:
                    here = f"{where}, column {column.name}"
                    problems.append(Problem(mistake.message, here, mistake.remedy))
        else:
            remedy = "one may be missing, or a comma in a text needs quotation marks around it"
            message = f"its {len(cells)} cells do not fit the {len(titles)} titles"
            problems.append(Problem(message, where, remedy))
        if len(problems) == before:
            yield Line(values, where), {each.name: cells[place] for each, place in places.items()}


def _remembering(column: TableColumn, read_cell: CellReader) -> CellReader:
    """Reads the cells of a column, blank ones too: what says the same is read, and kept, once."""
    known: dict[str, Any] = {}

    def remembered(cell: str) -> Any:
        try:
            return known[cell]
        except KeyError:
            value = value_of(column, cell, read_cell)
        if len(known) < _MOST_REMEMBERED:
            known[cell] = value
        return value

    return remembered


def _fits(cells: Sequence[str], titles: Sequence[str], places: Collection[int]) -> bool:
    """Whether a row reaches to the last known column, and has nothing where there is no title."""
    beyond = (cell for cell, title in zip_longest(cells, titles, fillvalue="") if not title)
    return len(cells) > max(places, default=0) and is_blank([*beyond])


def value_of(column: TableColumn, cell: str, read_cell: CellReader | None = None) -> Any:
    """The value in a cell, None for a blank one; raises NoValue with what is wrong."""
    if not cell.strip():
        if column.required:
            raise NoValue("the cell is empty")
        return False if column.kind == "boolean" else None
    return (read_cell or _reader_of(column))(cell)


def _reader_of(column: TableColumn) -> CellReader:
    """Reads the cells of a column by its kind and bounds."""
    words = values_of(column.name, column.among)

    def read_cell(cell: str) -> Any:
        if words:
            if (word := restored(cell).strip().casefold()) in words:
                return words[word]
            raise NoValue(f"“{shortened(cell)}” is not one of {', '.join(column.among)}")
        try:
            value = _READERS[column.kind](cell)
        except ValueError:
            wanted, remedy = _WANTED[column.kind]
            raise NoValue(f"“{shortened(cell)}” is not {wanted}", remedy) from None
        if column.pattern and not re.fullmatch(column.pattern, value):
            raise NoValue(f"“{shortened(cell)}” cannot be a {column.name}")
        if column.least is not None and value < column.least:
            raise NoValue(f"{cell} is below {column.least:g}")
        if column.most is not None and value > column.most:
            raise NoValue(f"{cell} is above {column.most:g}")
        return value

    return read_cell


def _number(cell: str) -> float:
    word = cell.strip()
    if not _NUMBER.fullmatch(word) or not math.isfinite(float(word)):
        raise ValueError
    return float(word)


def _yes(cell: str) -> bool:
    word = cell.strip().casefold()
    if word not in ("yes", "no"):
        raise ValueError
    return word == "yes"


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

_WANTED: dict[Kind, tuple[str, str]] = {
    "string": ("a text", ""),
    "number": ("a number", "write it with a point, such as 0.61, and without its unit"),
    "integer": ("a whole number", ""),
    "boolean": ("yes or no", ""),
    "date": ("a date such as 2026-03-09", ""),
    "datetime": ("a time with its offset, such as 2026-03-09T08:40:00+00:00", ""),
}


def repeated(keys: Iterable[tuple[tuple[Any, ...], str]]) -> list[Problem]:
    """The rows, given by key and place, that stand in a file more than once."""
    first: dict[tuple[Any, ...], str] = {}
    problems: list[Problem] = []
    for key, place in keys:
        earlier = first.setdefault(key, place)
        if earlier != place:
            number = earlier.rpartition("line ")[2]
            shown = (stamp(each) if isinstance(each, datetime) else str(each) for each in key)
            problems.append(Problem(f"{' '.join(shown)} stands on line {number} already", place))
        if len(problems) >= MOST_PROBLEMS:
            break
    return problems
