"""The storage class under TinyDB: one file, written whole or not at all, and backed up."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from msgspec import Struct, structs
from tinydb.storages import Storage

from rearlog.disk.names import refuse_reserved
from rearlog.records.command_text import CommandText
from rearlog.records.errors import StoreError
from rearlog.store import backups
from rearlog.store.arriving import finish, is_arriving
from rearlog.store.durable import (
    is_there,
    refuse_unwritable,
    target_of,
    write_atomically,
)
from rearlog.store.layout import (
    Document,
    Tables,
    encode,
    no_collection,
    parsed,
)
from rearlog.store.lines import appended, selected
from rearlog.store.locking import lock
from rearlog.store.migrations import FORMAT
from rearlog.store.opening import opened


class _Held(Struct):
    """A file under the lock: as bytes where it is as this program wrote it, as tables where they
    were asked for (both say the same), as tables alone where these were changed."""

    content: bytes | None
    tables: Tables | None
    format: int
    changed: bool = False
    new: bool = False
    forgotten: bool = False


class CohortStorage(Storage):
    """Reads and writes the tables of one cohort file.

    Changes are made inside `transaction()`, which holds the lock, lets its caller (or TinyDB)
    change the tables in memory, and writes the file once at the end, or not at all if anything
    goes wrong.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._held: _Held | None = None

    @property
    def held(self) -> bool:
        """Whether a transaction is going on."""
        return self._held is not None

    def read(self) -> Tables:
        """The tables as they stand; raises StoreError where they cannot be read or trusted."""
        return self._tables_of(self._held or self._begin())

    def as_it_is(self) -> bytes | Tables:
        """The file as bytes, where it is as this program wrote it, else its tables.

        Raises as `read` does.
        """
        return self._as_it_is(self._held or self._begin())

    def read_some(self, codes: Collection[str]) -> bytes | Tables:
        """The file; of the observations perhaps only those of some individuals, and those with
        a fate (codes folded to one case). Raises as `read` does."""
        held = self._held or self._begin()
        found = None if held.content is None else selected(held.content, codes)
        return self._as_it_is(held) if found is None else found

    def _as_it_is(self, held: _Held) -> bytes | Tables:
        return self._tables_of(held) if held.content is None else held.content

    def _tables_of(self, held: _Held) -> Tables:
        if held.tables is None:
            assert held.content is not None
            held.tables = parsed(held.content, self.path)
        return held.tables

    def write(self, data: Tables) -> None:
        """Keep the changed tables until the transaction ends."""
        if self._held is None:
            raise RuntimeError("a cohort file is written inside a transaction")
        self._held = structs.replace(self._held, content=None, tables=data, changed=True)

    def rewrite(self, data: Tables) -> None:
        """As `write`, but no backup stays of the file as it was."""
        self.write(data)
        assert self._held is not None
        self._held.forgotten = True

    def append(self, documents: Sequence[Document]) -> list[int] | None:
        """Add observations behind the others and return their numbers.

        None where the file is not laid out for that: then they are to be added to the tables.
        """
        if self._held is None or self._held.content is None:
            return None
        found = appended(self._held.content, documents)
        if found is None:
            return None
        content, numbers = found
        self._held = structs.replace(self._held, content=content, tables=None, changed=True)
        return numbers

    @contextlib.contextmanager
    def transaction(self, *, create: bool = False) -> Iterator[None]:
        """Hold the lock and the tables, and write them at the end if they were changed.

        A transaction inside another is part of it.
        """
        if self._held is not None:
            yield
            return
        target = target_of(self.path)
        refuse_unwritable(target)
        finish(target.parent)
        with lock(target), no_collection():
            try:
                self._held = self._new() if create else self._begin()
                yield
                if self._held.changed:
                    self._end(self._held, target)
            finally:
                self._held = None

    def _new(self) -> _Held:
        refuse_reserved(self.path.name)
        if is_there(self.path) or is_arriving(self.path):
            there = CommandText(
                f"{self.path} exists already", f"there is a cohort {self.path.stem} already"
            )
            raise StoreError(there, "choose another name")
        return _Held(None, {}, FORMAT, new=True)

    def _begin(self) -> _Held:
        found = opened(self.path)
        if isinstance(found, bytes):
            return _Held(found, None, FORMAT)
        return _Held(None, found.tables, found.format)

    def _end(self, held: _Held, target: Path) -> None:
        why = f"before format {FORMAT}" if held.format < FORMAT else None
        content = encode(held.tables or {}) if held.content is None else held.content
        if held.new:
            write_atomically(target, content, new=True)
        elif held.forgotten:
            write_atomically(target, content)
        else:
            replace(target, content, why)


def replace(target: Path, content: bytes, why: str | None = None) -> None:
    """Back up a cohort file and put other content in its place; the caller holds its lock.

    `why` sets the backup aside. Raises StoreError where that fails.
    """
    backups.set_aside(target, why)
    try:
        write_atomically(target, content)
    finally:
        with contextlib.suppress(OSError):  # then the next writer does it
            backups.settle(target)
