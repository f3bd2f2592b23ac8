"""The storage class under TinyDB: one file, written whole or not at all.

The file is JSON as TinyDB lays it out, one object of tables. Its first line holds the table `file`
with the format number and a SHA-256 checksum of the rest, so that damage is noticed and any tool
that reads TinyDB can read it.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson
from tinydb.storages import Storage

from rearlog.records.errors import StoreError
from rearlog.store.locking import lock

FORMAT = 1
"""The number of the file format that this version writes."""

_HEADER = re.compile(
    rb'\{"file":\{"1":\{"format":(\d{1,9}),"checksum":"sha256:([0-9a-f]{64})"\}\},\n'
)

Tables = dict[str, dict[str, Any]]


class CohortStorage(Storage):
    """Reads and writes the tables of one cohort file.

    Changes are made inside `transaction()`, which holds the lock, lets TinyDB change the tables
    in memory, and writes the file once at the end, or not at all if anything goes wrong.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._held: Tables | None = None
        self._changed = False

    def read(self) -> Tables:
        """The tables as they stand; raises StoreError where they cannot be read or trusted."""
        if self._held is not None:
            return self._held
        return decode(read_bytes(self.path), self.path)

    def write(self, data: Tables) -> None:
        """Keep the changed tables until the transaction ends."""
        if self._held is None:
            raise RuntimeError("a cohort file is written inside a transaction")
        self._held, self._changed = data, True

    @contextlib.contextmanager
    def transaction(self, *, create: bool = False) -> Iterator[Tables]:
        """Hold the lock, offer the tables, and write them at the end if they were changed."""
        with lock(self.path):
            if create:
                if self.path.exists():
                    raise StoreError(f"{self.path} exists already", "choose another name")
                self._held = {}
            else:
                self._held = self.read()
            try:
                yield self._held
                if self._changed:
                    write_atomically(self.path, encode(self._held))
            finally:
                self._held, self._changed = None, False


def encode(tables: Tables) -> bytes:
    """The bytes of a cohort file."""
    body = {name: table for name, table in tables.items() if name != "file"}
    rest = orjson.dumps(body)[1:] + b"\n"
    checksum = hashlib.sha256(rest).hexdigest()
    header = f'{{"file":{{"1":{{"format":{FORMAT},"checksum":"sha256:{checksum}"}}}},\n'
    return header.encode() + rest


def decode(content: bytes, path: Path) -> Tables:
    """The tables in the bytes of a cohort file; raises StoreError where they are not sound."""
    match = _HEADER.match(content)
    if match is not None:
        refuse_newer(int(match[1]), path)
        intact = hashlib.sha256(memoryview(content)[match.end() :]).hexdigest() == match[2].decode()
        tables = _parse(content, path)
    else:
        # another tool may have laid the same content out anew
        tables = _parse(content, path)
        header = _header_of(tables, path)
        refuse_newer(header["format"], path)
        match = _HEADER.match(encode(tables))
        assert match is not None
        intact = header.get("checksum") == f"sha256:{match[2].decode()}"
    if not intact:
        raise StoreError(
            f"{path} was damaged, or changed by something else: its checksum does not fit",
            f"see what is wrong with “rearlog verify {path.stem}”, "
            f"go back with “rearlog restore {path.stem}”",
        )
    return tables


def _parse(content: bytes, path: Path) -> Tables:
    restore = f"go back to a backup with “rearlog restore {path.stem}”"
    try:
        tables = orjson.loads(content)
    except orjson.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        cut = " (the file ends too early)" if error.pos >= len(content.rstrip()) else ""
        raise StoreError(f"{path} is not JSON at {place}{cut}", restore) from None
    if not isinstance(tables, dict) or not all(isinstance(each, dict) for each in tables.values()):
        raise StoreError(f"{path} is not a cohort file: it holds no tables", restore)
    return tables


def _header_of(tables: Tables, path: Path) -> dict[str, Any]:
    header = tables.get("file", {}).get("1")
    if not isinstance(header, dict) or not isinstance(header.get("format"), int):
        raise StoreError(f"{path} is not a cohort file: it has no format number")
    return header


def refuse_newer(number: int, path: Path) -> None:
    """Raise StoreError for a format that this version does not know."""
    if number > FORMAT:
        raise StoreError(
            f"{path} has format {number}; this rearlog reads up to {FORMAT}", "install a newer one"
        )


def read_bytes(path: Path) -> bytes:
    """The file's content; raises StoreError where it cannot be had."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise StoreError(
            f"there is no cohort file {path}", "start one with “rearlog start”, or check the name"
        ) from None
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}") from error


def write_atomically(path: Path, content: bytes) -> None:
    """Replace a file's content so that either the old or the new is there, whatever happens.

    Writes a temporary file beside it, flushes it to the disk, renames it, and flushes the folder.
    Raises StoreError where that fails; the old file is then as it was.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        if path.exists() and not os.access(path, os.W_OK):
            raise PermissionError(13, "it is read-only")
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
        try:
            view = memoryview(content)
            while view:
                view = view[os.write(descriptor, view) :]
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        os.replace(temporary, path)
        _sync_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} cannot be written: {error.strerror}; nothing changed") from error


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # folders cannot be opened for syncing there
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
