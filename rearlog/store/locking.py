"""One writer at a time: a lock beside each cohort file, which says who holds it."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

from rearlog.records.errors import StoreError
from rearlog.store.durable import hidden_folder, reason

PATIENCE_SECONDS = 10.0
_POLL_SECONDS = 0.01
_SIGNATURE_BYTES = 80


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
        held = FileLock(name, PATIENCE_SECONDS, mode, poll_interval=_POLL_SECONDS)
        held.acquire()
    except Timeout:
        raise StoreError(
            f"{target} is being written by {_holder(name)}", "try again when that has finished"
        ) from None
    except OSError as error:
        raise StoreError(f"{target} cannot be locked: {reason(error)}; nothing changed") from error
    try:
        _sign(name)
        yield
    finally:
        held.release()


def _sign(name: Path) -> None:
    host = f" on {os.uname().nodename}" if hasattr(os, "uname") else ""
    told = f"process {os.getpid()}{host}".encode()
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
