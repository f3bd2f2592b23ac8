"""The bytes of a cohort file and the tables in them.

The file is JSON as TinyDB lays it out, one object of tables, each an object of numbered documents.
Its first line holds the table `file` with the format number and a SHA-256 checksum of the rest, so
that damage is noticed and any tool that reads TinyDB can read it.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from rearlog.records.command_text import CommandText
from rearlog.records.errors import Problem, StoreError
from rearlog.store.calling import called
from rearlog.store.migrations import FORMAT, migrated

LARGEST_COUNT = 5_000_000
"""A file with more objects and lists than this is refused: they would not fit into memory."""

_HEADER = re.compile(
    rb'\{"file":\{"1":\{"format":(\d{1,9}),"checksum":"sha256:([0-9a-f]{64})"\}\},\n'
)
_SHOWN = 10
_dumps = msgspec.json.Encoder().encode

Document = dict[str, Any]
Table = dict[str, Document]
Tables = dict[str, Table]


class Content(Struct, frozen=True):
    """What a cohort file holds: its tables, the format they were written in, and whether the
    checksum fits them."""

    tables: Tables
    format: int
    intact: bool


def encode(tables: Tables) -> bytes:
    """The bytes of a cohort file; raises StoreError where the tables hold what JSON cannot.

    Each record has a line of its own, and the observations come last: so a long file is quick to
    search and to add to (see `lines`), and what changed can be told line by line.
    """
    names = sorted((name for name in tables if name != "file"), key="observations".__eq__)
    try:
        body = [
            b"%b:{\n%b}" % (_dumps(name), numbered_lines(tables[name].items())) for name in names
        ]
        return sealed((b",\n".join(body), b"}\n"))
    except (msgspec.MsgspecError, RecursionError, TypeError, UnicodeEncodeError) as error:
        raise StoreError(f"the records cannot be laid out as JSON: {error}") from error


def numbered_lines(documents: Iterable[tuple[str, Document]]) -> bytes:
    """Documents with their numbers, a line each."""
    return b",\n".join([_dumps(number) + b":" + _dumps(each) for number, each in documents])


def sealed(parts: Sequence[bytes | memoryview]) -> bytes:
    """The bytes of a file, given those behind its first line: format number and checksum before."""
    checksum = hashlib.sha256()
    for part in parts:
        checksum.update(part)
    told = f"sha256:{checksum.hexdigest()}"
    header = f'{{"file":{{"1":{{"format":{FORMAT},"checksum":"{told}"}}}},\n'
    return b"".join((header.encode(), *parts))


def is_own(content: bytes) -> bool:
    """Whether the file is as this program wrote it: of today's format, and its checksum fits."""
    match = _HEADER.match(content)
    return match is not None and int(match[1]) == FORMAT and _fits(content, match)


def _fits(content: bytes, header: re.Match[bytes]) -> bool:
    found = hashlib.sha256(memoryview(content)[header.end() :]).hexdigest()
    return found == header[2].decode()


def decode(content: bytes, path: Path) -> Content:
    """The tables in the bytes of a cohort file, in today's format.

    Raises StoreError where they are not sound: cut off, changed by something else, of a newer
    format.
    """
    found = inspect(content, path)
    if not found.intact:
        raise StoreError(
            f"{path} was damaged, or changed by something else: its checksum does not fit",
            CommandText(
                f"see what is wrong with “rearlog verify {called(path)}”, ",
                "the page Safety shows what is wrong, ",
            )
            + back_to_a_backup(path),
        )
    return found


def inspect(content: bytes, path: Path) -> Content:
    """As `decode`, but whether the checksum fits is left for the caller to judge."""
    content = content.removeprefix(b"\xef\xbb\xbf")  # some editors put it before UTF-8
    match = _HEADER.match(content)
    if match is not None:
        number = int(match[1])
        _refuse_newer(number, path)
        intact = _fits(content, match)
        tables = parsed(content, path)
    else:
        # another tool may have laid the same content out anew
        tables = parsed(content, path)
        number, told = _header_of(tables, path)
        _refuse_newer(number, path)
        again = _HEADER.match(encode(tables))
        intact = again is not None and again[2].decode() == told
    return Content(migrated(tables, number, path), number, intact)


def back_to_a_backup(path: Path) -> CommandText:
    """What to do about a file that cannot be used."""
    return CommandText(
        f"go back to a backup with “rearlog restore {called(path)}”", "go back to a backup"
    )


def first_of(problems: list[Problem]) -> list[Problem]:
    """As many problems as a message can hold, and how many more there are."""
    more = len(problems) - _SHOWN
    return problems[:_SHOWN] + ([Problem(f"and {more} more like these")] if more > 0 else [])


def parsed(content: bytes, path: Path) -> Tables:
    """The tables in JSON as they stand; raises StoreError where it is none, or holds no tables."""
    restore = back_to_a_backup(path)
    refuse_too_many(content, path)
    try:
        with no_collection():
            tables = msgspec.json.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise StoreError(f"{path} is not JSON{_where(content, error)}", restore) from None
    if not isinstance(tables, dict) or not all(isinstance(each, dict) for each in tables.values()):
        raise StoreError(f"{path} is not a cohort file: it holds no tables", restore)
    return tables


def refuse_too_many(content: bytes, path: Path) -> None:
    """Raise StoreError for more objects and lists than fit into memory."""
    most = len(content) // len("{},")
    if most > LARGEST_COUNT and content.count(b"{") + content.count(b"[") > LARGEST_COUNT:
        raise StoreError(
            f"{path} holds more records than fit into memory",
            back_to_a_backup(path),
        )


def _where(content: bytes, error: Exception) -> str:
    """Where JSON goes wrong, and how."""
    match = re.fullmatch(r"JSON is malformed: (.*) \(byte (\d+)\)", str(error))
    if match is None:
        if "truncated" in str(error):
            return " (the file ends too early)"
        large = "out of range" in str(error)
        return f": {'it holds a number that is too large' if large else error}"
    before = content[: int(match[2])]
    line, column = before.count(b"\n") + 1, len(before) - before.rfind(b"\n")
    return f" at line {line}, column {column}: {match[1]}"


def _header_of(tables: Tables, path: Path) -> tuple[int, str]:
    header = tables.get("file", {}).get("1")
    if not isinstance(header, dict) or type(header.get("format")) is not int:
        raise StoreError(f"{path} is not a cohort file: it has no format number")
    return header["format"], str(header.get("checksum")).removeprefix("sha256:")


def _refuse_newer(number: int, path: Path) -> None:
    if number > FORMAT:
        raise StoreError(
            f"{path} has format {number}; this rearlog reads up to {FORMAT}", "install a newer one"
        )


@contextlib.contextmanager
def no_collection() -> Iterator[None]:
    """Pause the search for reference cycles, which doubles the time of making many records."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
