"""Tables of text as spreadsheets and loggers save them: encodings, separators, line numbers.

A file is read row by row and left where it goes beyond a bound, so that no file, however it came
about, takes more time than its length or more memory than a school's computer has.
"""

from __future__ import annotations

import codecs
import csv
import io
import os
from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import BinaryIO, TextIO

from msgspec import Struct

from rearlog.exchange import packed
from rearlog.exchange.bounded import opened
from rearlog.records.errors import ImportRefused, Problem

SEPARATORS = (",", ";", "\t")

Rows = Sequence[Sequence[str]]

LARGEST_BYTES = 96 * 2**20
MOST_ROWS = 500_000
MOST_COLUMNS = 500
MOST_CELLS, MOST_TEXTS = 10_000_000, 2_000_000
"""So many cells a table may have, and so many with another text than those before."""
LONGEST_CELL, LONGEST_ROW = 100_000, 1_000_000
"""In characters."""
MOST_PROBLEMS = 1_000
"""After so many mistakes the rest of a file is not looked at."""

_HEAD_ROWS = 250
"""The titles stand among so many rows."""
_CHUNK_BYTES = 2**20
_MOST_SHARED, _LONGEST_SHARED = 100_000, 40
"""So many texts of cells are kept once however often they stand there, none longer than this."""
_SMALLER = "split it into smaller files"


class NoTitles(ImportRefused):
    """A file of text in which no row has the titles of the format that it is read as."""


_OTHER_KINDS = {
    b"%PDF": "a PDF file",
    b"PK\x03\x04": "a workbook or another packed file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"{": "a JSON file",
}
"""How files begin that people take for tables."""


class DelimitedTable(Struct, frozen=True):
    """The cells of a file. Row `i` begins on line `lines[i]` (from 1); `header` has the titles."""

    name: str
    separator: str
    rows: list[list[str]]
    lines: Sequence[int]
    header: int

    def line(self, row: int) -> str:
        """Where a row stands, for a message."""
        return f"{self.name}, line {self.lines[row]}"


def read_table(
    path: str | os.PathLike[str],
    find_header: Callable[[Rows], int | None],
    wanted: str,
    *,
    fallback: str | None = None,
    most_rows: int = MOST_ROWS,
) -> DelimitedTable:
    """Read a file of delimited text (RFC 4180, or with semicolons or tabs between the cells).

    `find_header` gives the row with the titles, None where there is none among the first rows: the
    separator is the one with which there is one. `wanted` describes that row for the message.
    UTF-8, and UTF-16 with its mark, are read; other bytes in `fallback` if it is given.

    Raises ImportRefused where the file cannot be read, is no text or beyond a bound, NoTitles where
    it has no such row.
    """
    place = Path(path)
    with opened(place, LARGEST_BYTES) as file:
        encoding = _encoding(file, place.name, fallback)
        mistakes = []
        for separator in SEPARATORS:
            file.seek(0)
            text = io.TextIOWrapper(file, encoding, errors="replace", newline="")
            try:
                table = _table(text, separator, place.name, find_header, most_rows)
            except _Unsplit as mistake:
                mistakes.append(Problem(str(mistake), f"{place.name}, line {mistake.line}"))
            else:
                if table is not None:
                    return table
            finally:
                text.detach()
    titles = Problem("the line with the column titles is missing", place.name, wanted)
    raise NoTitles(mistakes[:1] or titles)


def has_table(
    path: str | os.PathLike[str],
    find_header: Callable[[Rows], int | None],
    *,
    fallback: str | None = None,
) -> bool:
    """Whether a file has the titles of a format (see `read_table`); its rows are not looked at.

    Raises ImportRefused where the file cannot be read or is no text.
    """
    try:
        read_table(path, find_header, "", fallback=fallback, most_rows=0)
    except NoTitles:
        return False
    return True


def beyond_bounds(content: packed.Content) -> str:
    """Why a table that was written would not be read again; nothing where it would."""
    if len(content) > LARGEST_BYTES:
        return f"it has more than {LARGEST_BYTES / 2**20:.0f} MB"
    if len(content) <= min(MOST_ROWS, MOST_CELLS, MOST_TEXTS):  # a byte each at least
        return ""
    try:
        text = io.TextIOWrapper(packed.opened(content), "utf-8-sig", newline="")
        for _ in _bounded(_split(text, SEPARATORS[0]), MOST_ROWS):
            pass
    except _Unsplit as mistake:
        return str(mistake)
    return ""


def is_blank(row: Sequence[str]) -> bool:
    """Whether a row has nothing in it."""
    return not any(cell.strip() for cell in row)


def _encoding(file: BinaryIO, name: str, fallback: str | None) -> str:
    """The encoding of a file; raises ImportRefused for what is no text."""
    first = file.read(_CHUNK_BYTES)
    for beginning, kind in _OTHER_KINDS.items():
        if first.startswith(beginning):
            remedy = "a CSV file is wanted: lines of cells with commas between them"
            raise ImportRefused(Problem(f"this is {kind}", name, remedy))
    wide = first.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    encoding = "utf-16" if wide else "utf-8-sig"
    try:
        _refuse_no_text(file, name, encoding)
    except _Undecodable as error:
        if fallback is None or wide:
            remedy = "save it as “CSV UTF-8”; then accents and signs keep their meaning"
            where = f"{name}, line {error.line}"
            raise ImportRefused(Problem("the text is not UTF-8", where, remedy)) from None
        _refuse_no_text(file, name, fallback)
        return fallback
    return encoding


class _Undecodable(Exception):
    def __init__(self, line: int) -> None:
        self.line = line


def _refuse_no_text(file: BinaryIO, name: str, encoding: str) -> None:
    """Raise ImportRefused for an empty file or one with a zero in it, _Undecodable for others."""
    errors = "strict" if encoding.startswith("utf") else "replace"
    decoder = codecs.getincrementaldecoder(encoding)(errors)
    line, blank, last = 1, True, False
    file.seek(0)
    while not last:
        chunk = file.read(_CHUNK_BYTES)
        last = not chunk
        try:
            text = decoder.decode(chunk, final=last)
        except UnicodeDecodeError as error:
            raise _Undecodable(line + error.object.count(b"\n", 0, error.start)) from None
        if "\0" in text:
            line += text.count("\n", 0, text.index("\0"))
            remedy = "if it is a workbook, save the sheet as CSV"
            raise ImportRefused(Problem("this is no text", f"{name}, line {line}", remedy))
        line += text.count("\n")
        blank = blank and not text.strip()
    if blank:
        raise ImportRefused(Problem("the file is empty", name))


def _table(
    text: TextIO,
    separator: str,
    name: str,
    find_header: Callable[[Rows], int | None],
    most_rows: int,
) -> DelimitedTable | None:
    """The table with this separator, None without titles (then only the head was split).

    Without `most_rows` the rows below the titles are left out. Raises _Unsplit for a head, and
    ImportRefused for rows that cannot be split or are too many.
    """
    split = _split(text, separator)
    head = [*islice(split, _HEAD_ROWS)]
    header = find_header([row for row, _ in head])
    if header is None:
        return None
    rows, lines = [row for row, _ in head], array("l", [line for _, line in head])
    try:
        for row, line in _bounded(split, most_rows, len(head) + 1) if most_rows else ():
            rows.append(row)
            lines.append(line)
    except _Unsplit as mistake:
        place = f"{name}, line {mistake.line}"
        raise ImportRefused(Problem(str(mistake), place, mistake.remedy)) from None
    return DelimitedTable(name, separator, rows, lines, header)


class _Unsplit(Exception):
    def __init__(self, message: str, line: int, remedy: str = "") -> None:
        super().__init__(message)
        self.line, self.remedy = line, remedy


def _bounded(
    split: Iterable[tuple[list[str], int]], most: int, first: int = 1
) -> Iterator[tuple[list[str], int]]:
    """The rows, as long as they are no more, with no more cells, than are taken.

    Most cells of a long table say what others say: their text is kept once.
    """
    shared: dict[str, str] = {"": ""}
    cells = texts = 0
    for count, (row, line) in enumerate(split, start=first):
        if count > most:
            raise _Unsplit(f"it has more than {most:,} lines", line, _SMALLER)
        for place, cell in enumerate(row):
            known = shared.get(cell)
            if known is not None:
                row[place] = known
                continue
            texts += 1
            if len(shared) < _MOST_SHARED and len(cell) <= _LONGEST_SHARED:
                shared[cell] = cell
        cells += len(row)
        if cells > MOST_CELLS:
            raise _Unsplit(f"it has more than {MOST_CELLS:,} cells", line, _SMALLER)
        if texts > MOST_TEXTS:
            raise _Unsplit(f"it has more than {MOST_TEXTS:,} different cells", line, _SMALLER)
        yield row, line


class _Lines:
    """The lines of a text; csv.Error where those of one row, `in_row` characters, are too long."""

    def __init__(self, text: TextIO) -> None:
        self._text, self.in_row = text, 0

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        line = self._text.readline(LONGEST_ROW + 1)
        if not line:
            raise StopIteration
        self.in_row += len(line)
        if self.in_row > LONGEST_ROW:
            raise csv.Error(f"a row has more than {LONGEST_ROW:,} characters")
        return line


def _split(text: TextIO, separator: str) -> Iterator[tuple[list[str], int]]:
    """The rows and the lines on which they begin; raises _Unsplit."""
    too_long = f"a cell has more than {LONGEST_CELL:,} characters"
    lines, began = _Lines(text), 1
    reader = csv.reader(lines, delimiter=separator, strict=True)
    try:
        for row in reader:
            # the reader's own limit is anybody's to change
            if lines.in_row > LONGEST_CELL and max(map(len, row)) > LONGEST_CELL:
                raise csv.Error(too_long)
            if len(row) > MOST_COLUMNS:
                raise csv.Error(
                    f"a row has {len(row):,} cells, more than {MOST_COLUMNS} are not taken"
                )
            yield row, began
            began, lines.in_row = reader.line_num + 1, 0
    except csv.Error as error:
        told = str(error)
        if told == "unexpected end of data":
            told = "a quotation mark opens here and is never closed"
        elif told.startswith("field larger than field limit"):
            told = too_long
        raise _Unsplit(told, began) from None
