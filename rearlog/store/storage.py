"""The storage class under TinyDB: one file, written whole or not at all, and backed up."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from tinydb.storages import Storage

from rearlog.records.errors import StoreError
from rearlog.store import backups
from rearlog.store.durable import (
    is_there,
    read_bytes,
    refuse_unwritable,
    target_of,
    write_atomically,
)
from rearlog.store.layout import Content, Tables, decode, encode, no_collection
from rearlog.store.locking import lock
from rearlog.store.migrations import FORMAT


class CohortStorage(Storage):
    """Reads and writes the tables of one cohort file.

    Changes are made inside `transaction()`, which holds the lock, lets its caller (or TinyDB)
    change the tables in memory, and writes the file once at the end, or not at all if anything
    goes wrong.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._held: Content | None = None
        self._changed = False

    def read(self) -> Tables:
        """The tables as they stand; raises StoreError where they cannot be read or trusted."""
        content = self._held or decode(read_bytes(self.path), self.path)
        return content.tables

    @property
    def held(self) -> bool:
        """Whether a transaction is going on."""
        return self._held is not None

    def write(self, data: Tables) -> None:
        """Keep the changed tables until the transaction ends."""
        if self._held is None:
            raise RuntimeError("a cohort file is written inside a transaction")
        self._held, self._changed = Content(data, self._held.format, intact=True), True

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
        with lock(target), no_collection():
            try:
                self._held = self._begin(create)
                yield
                if self._changed:
                    older = self._held.format < FORMAT
                    why = f"before format {FORMAT}" if older else None
                    replace(target, encode(self._held.tables), why)
            finally:
                self._held, self._changed = None, False

    def _begin(self, create: bool) -> Content:
        if not create:
            return decode(read_bytes(self.path), self.path)
        if is_there(self.path):
            raise StoreError(f"{self.path} exists already", "choose another name")
        return Content({}, FORMAT, intact=True)


def replace(target: Path, content: bytes, why: str | None = None) -> None:
    """Back up a cohort file and put other content in its place; the caller holds its lock.

    `why` sets the backup aside for good. Raises StoreError where that fails.
    """
    backups.keep(target, why)
    write_atomically(target, content)
