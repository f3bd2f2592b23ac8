"""One writer at a time: a lock beside each cohort file, which says who holds it."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from rearlog.records.errors import StoreError

PATIENCE_SECONDS = 10.0
HIDDEN = ".rearlog"
"""The folder beside the cohort files that keeps locks and backups."""


@contextlib.contextmanager
def lock(path: Path, patience: float | None = None) -> Iterator[None]:
    """Hold the writer's lock of a cohort file.

    The system frees it when the process ends, however it ends; the small file stays. Raises
    StoreError where somebody else keeps it for longer than `patience` seconds.
    """
    folder = path.parent / HIDDEN
    name = folder / f"{path.name}.lock"
    try:
        folder.mkdir(exist_ok=True)
        held = FileLock(name, timeout=PATIENCE_SECONDS if patience is None else patience)
        with held:
            name.write_text(f"process {os.getpid()}", encoding="utf-8")
            yield
    except Timeout:
        with contextlib.suppress(OSError):
            holder = name.read_text(encoding="utf-8").strip()
        raise StoreError(
            f"{path} is being written by {holder or 'another program'}",
            "try again when it has finished",
        ) from None
    except OSError as error:
        raise StoreError(f"{path} cannot be locked: {error.strerror}; nothing changed") from error
