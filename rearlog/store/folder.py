"""The cohorts in a folder: all that other commands would open, and those that they would name."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from rearlog.store.arriving import finish
from rearlog.store.durable import HIDDEN

_WRITTEN = b'{"file":{'
"""How a file begins that this program wrote, perhaps behind a byte-order mark."""
_MARK = b"\xef\xbb\xbf"
_TABLES = (b'"file"', b'"checksum"', b'"cohort"', b'"individuals"')
"""What stands in a cohort file that another tool has laid out anew."""
_LONGEST_NAME = max(map(len, _TABLES))
_CHUNK_BYTES = 2**20


def cohorts_in(folder: Path) -> list[Path]:
    """The cohort files in a folder, by name.

    One that cannot be read, or is damaged, is among them, so that it is told: it was written to
    before, or nobody can say that it is none. Pipes, devices and folders are left alone.
    """
    finish(folder)
    return sorted(path for path in folder.glob("*.json") if is_cohort(path))


def is_cohort(path: Path) -> bool:
    """Whether a file is one of these."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return False
        if os.path.lexists(path.parent / HIDDEN / f"{path.name}.lock"):
            return True
        with path.open("rb") as file:
            chunk = file.read(_CHUNK_BYTES).removeprefix(_MARK)
            if chunk.startswith(_WRITTEN):
                return True
            missing = {*_TABLES}
            end = b""
            while chunk and missing:
                missing = {name for name in missing if name not in end + chunk}
                end, chunk = chunk[-_LONGEST_NAME:], file.read(_CHUNK_BYTES)
            return not missing
    except OSError:
        return True
