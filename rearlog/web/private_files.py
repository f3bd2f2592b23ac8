"""Small files that only their user may read: what a server tells its next start."""

from __future__ import annotations

import contextlib
import json
import os
import stat
from pathlib import Path
from typing import Any

from rearlog.records.errors import StoreError
from rearlog.store.durable import HIDDEN, hidden_folder

_LONGEST_BYTES = 2**14


def write_private(folder: Path, name: str, told: dict[str, Any]) -> bool:
    """Write a document for this user alone; False where that cannot be."""
    try:
        path = hidden_folder(folder / name) / name
        with contextlib.suppress(FileNotFoundError):
            os.unlink(path)
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            json.dump(told, file)
    except (OSError, StoreError):
        return False
    return True


def read_private(folder: Path, name: str) -> dict[str, Any]:
    """The document; empty where there is none that this user alone could have written."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        with os.fdopen(os.open(folder / HIDDEN / name, flags), "rb") as file:
            known = os.fstat(file.fileno())
            own = os.name == "nt" or (
                known.st_uid == os.getuid() and not stat.S_IMODE(known.st_mode) & 0o077
            )
            if not own or not stat.S_ISREG(known.st_mode):
                return {}
            told = json.loads(file.read(_LONGEST_BYTES))
    except (OSError, ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}
