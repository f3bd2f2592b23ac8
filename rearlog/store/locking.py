"""One writer at a time: a lock beside each cohort file, which says who holds it."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rearlog.disk.notices import tell
from rearlog.disk.writing import reason
from rearlog.records.errors import StoreError
from rearlog.store.durable import hidden_folder

if TYPE_CHECKING:
    from filelock import BaseFileLock

SILENT_SECONDS = 2.0
PATIENCE_SECONDS = 60.0
"""After so long, a writer that waits says for whom; after so long altogether it gives up."""
_POLL_SECONDS = 0.01
_SIGNATURE_BYTES = 120


@contextlib.contextmanager
def lock(target: Path) -> Iterator[None]:
    """Hold the writer's lock of a cohort file (not of a link to it).

    The system frees it when the process ends, however it ends; the small file stays. Raises
    StoreError where somebody else keeps it for longer than PATIENCE_SECONDS.
    """
    from filelock import FileLock, Timeout  # start-up time: reading needs no lock

    try:
        if not target.parent.is_dir():
            told = f"there is no folder {target.parent}"
            raise StoreError(told, "make it first, or check the path")
        folder = hidden_folder(target)
        name = folder / f"{target.name}.lock"
        mode = stat.S_IMODE(os.stat(folder).st_mode) & 0o666  # shared as the folder is
        held = FileLock(name, mode=mode, poll_interval=_POLL_SECONDS)
        try:
            held.acquire(timeout=min(SILENT_SECONDS, PATIENCE_SECONDS))
        except Timeout:
            if PATIENCE_SECONDS <= SILENT_SECONDS:
                raise
            tell(f"waiting for {target}, which is being written by {_holder(name)}")
            held.acquire(timeout=PATIENCE_SECONDS - SILENT_SECONDS)
    except Timeout:
        raise StoreError(
            f"{target} is being written by {_holder(name)}", "try again when that has finished"
        ) from None
    except (OSError, NotImplementedError) as error:
        raise StoreError(f"{target} cannot be locked: {reason(error)}; nothing changed") from error
    try:
        _sign(name)
        yield
    finally:
        give_back(held)


def give_back(held: BaseFileLock) -> None:
    """Release a lock; where the system refuses that, its work is done all the same."""
    try:
        with contextlib.suppress(OSError):
            held.release()
            return
        held.release()  # what failed once on a disk in the network may do now
    except OSError as error:
        tell(
            f"the lock {held.lock_file} could not be given back ({reason(error)}): "
            "others have to wait until this program has ended"
        )


def _sign(name: Path) -> None:
    host = f" on {os.uname().nodename[:40]}" if hasattr(os, "uname") else ""
    told = f"process {os.getpid()}{host} since {datetime.now():%Y-%m-%d %H:%M:%S}".encode()
    with contextlib.suppress(OSError):  # only a courtesy to those who wait
        descriptor = os.open(name, os.O_WRONLY)
        try:
            os.write(descriptor, told[:_SIGNATURE_BYTES].ljust(_SIGNATURE_BYTES))
        finally:
            os.close(descriptor)


def _holder(name: Path) -> str:
    try:
        told = name.read_bytes()[:_SIGNATURE_BYTES].decode(errors="replace").strip()
    except OSError:
        told = ""
    return told or "another program"
