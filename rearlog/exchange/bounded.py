"""Opening what people bring: a file and no device that never ends, and no larger than it may be."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from rearlog.records.errors import ImportRefused, Problem

_KINDS = {
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}


@contextmanager
def opened(path: Path, largest: int) -> Iterator[BinaryIO]:
    """The file, opened for reading.

    Raises ImportRefused where it cannot be read, is no file, or has more than `largest` bytes.
    """
    if "\0" in str(path):
        raise ImportRefused(Problem("no file has such a name", str(path)))
    try:
        found = os.stat(path)  # before it is opened: opening a pipe would wait for its writer
        kind = _KINDS.get(stat.S_IFMT(found.st_mode))
        if kind is not None:
            raise ImportRefused(Problem(f"this is {kind}, not a file", str(path)))
        refuse_larger(found.st_size, largest, path)
        with open(path, "rb") as file:
            yield file
    except OSError as error:
        reason = error.strerror or str(error)
        raise ImportRefused(Problem(f"cannot be read: {reason}", str(path))) from error


def content(path: Path, largest: int) -> bytes:
    """The whole file; raises as `opened` does."""
    with opened(path, largest) as file:
        found = file.read(largest + 1)  # some files that the system makes up tell no size
    refuse_larger(len(found), largest, path)
    return found


def refuse_larger(size: int, largest: int, path: Path) -> None:
    """Raise ImportRefused for more bytes than are taken."""
    if size > largest:
        unit, name = (2**20, "MB") if largest >= 2**20 else (1000, "kB")
        message = (
            f"it has {size / unit:,.0f} {name}, and more than {largest / unit:,.0f} are not taken"
        )
        raise ImportRefused(Problem(message, str(path), "split it into smaller files"))
