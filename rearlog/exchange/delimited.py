"""Tables of text as spreadsheets and loggers save them: encodings, separators, line numbers."""

from __future__ import annotations

import codecs
import csv
import io
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rearlog.records.errors import ImportRefused, Problem

SEPARATORS = (",", ";", "\t")

Rows = Sequence[Sequence[str]]

LONGEST_CELL = 100_000
_TOO_LONG = f"a cell has more than {LONGEST_CELL:,} characters"


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


@dataclass(frozen=True, slots=True)
class Table:
    """The cells of a file. Row `i` begins on line `lines[i]` (from 1); `header` has the titles."""

    name: str
    separator: str
    rows: list[list[str]]
    lines: list[int]
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
) -> Table:
    """Read a file of delimited text (RFC 4180, or with semicolons or tabs between the cells).

    `find_header` gives the row with the titles, None where there is none: the separator is the
    one with which there is one. `wanted` describes that row for the message. UTF-8, and UTF-16
    with its mark, are read; other bytes in `fallback` if it is given.

    Raises ImportRefused where the file cannot be read or is no text, NoTitles where it has no such
    row.
    """
    place = Path(path)
    text = _decoded(_content(place), place.name, fallback)
    mistakes = []
    for separator in SEPARATORS:
        try:
            rows, lines = _split(text, separator)
        except _Unsplit as mistake:
            mistakes.append(Problem(str(mistake), f"{place.name}, line {mistake.line}"))
            continue
        header = find_header(rows)
        if header is not None:
            return Table(place.name, separator, rows, lines, header)
    raise NoTitles(
        mistakes[:1] or Problem("the line with the column titles is missing", place.name, wanted)
    )


def has_table(
    path: str | os.PathLike[str],
    find_header: Callable[[Rows], int | None],
    *,
    fallback: str | None = None,
) -> bool:
    """Whether a file has the titles of a format (see `read_table`).

    Raises ImportRefused where the file cannot be read or is no text.
    """
    try:
        read_table(path, find_header, "", fallback=fallback)
    except NoTitles:
        return False
    return True


def is_blank(row: Sequence[str]) -> bool:
    """Whether a row has nothing in it."""
    return not any(cell.strip() for cell in row)


def _content(place: Path) -> bytes:
    try:
        content = place.read_bytes()
    except OSError as error:
        raise ImportRefused(Problem(f"cannot be read: {error.strerror}", str(place))) from error
    if not content.strip():
        raise ImportRefused(Problem("the file is empty", place.name))
    for beginning, kind in _OTHER_KINDS.items():
        if content.startswith(beginning):
            remedy = "a CSV file is wanted: lines of cells with commas between them"
            raise ImportRefused(Problem(f"this is {kind}", place.name, remedy))
    return content


def _decoded(content: bytes, name: str, fallback: str | None) -> str:
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        if fallback is None or wide:
            line = content.count(b"\n", 0, error.start) + 1
            remedy = "save it as “CSV UTF-8”; then accents and signs keep their meaning"
            where = f"{name}, line {line}"
            raise ImportRefused(Problem("the text is not UTF-8", where, remedy)) from None
        text = content.decode(fallback, errors="replace")
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        remedy = "if it is a workbook, save the sheet as CSV"
        raise ImportRefused(Problem("this is no text", f"{name}, line {line}", remedy))
    return text


class _Unsplit(Exception):
    def __init__(self, message: str, line: int) -> None:
        super().__init__(message)
        self.line = line


def _split(text: str, separator: str) -> tuple[list[list[str]], list[int]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows, lines, began = [], [], 1
    try:
        for row in reader:
            if any(len(cell) > LONGEST_CELL for cell in row):
                raise csv.Error(_TOO_LONG)  # the reader's own limit is anybody's to change
            rows.append(row)
            lines.append(began)
            began = reader.line_num + 1
    except csv.Error as error:
        told = str(error)
        if told == "unexpected end of data":
            told = "a quotation mark opens here and is never closed"
        elif told.startswith("field larger than field limit"):
            told = _TOO_LONG
        raise _Unsplit(told, began) from None
    return rows, lines
