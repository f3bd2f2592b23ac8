"""Temporary files and folders beside what is written, and those that a stopped writer has left.

A writer holds a lock on what it is at work on, which the system frees when the process ends. What
nobody holds, and has not been touched for long, is nobody's.
"""

from __future__ import annotations

import contextlib
import os
import re
import stat
import time
from collections.abc import Iterator
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

OLD_SECONDS, OLD_UNLOCKED_SECONDS = 3_600, 86_400
"""After so long without a lock it is nobody's; the latter on a disk that knows no locks."""

_NAME = re.compile(r"\.rearlog-[0-9a-f]{8}\.new")


def beside(target: Path) -> Path:
    """A name for what is to take the place of the target."""
    import secrets  # start-up time

    return target.parent / f".rearlog-{secrets.token_hex(4)}.new"


def claim(descriptor: int) -> None:
    """Let others know that somebody is at work on an open file or folder, where the disk can."""
    if fcntl is not None:
        with contextlib.suppress(OSError):
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextlib.contextmanager
def claimed(folder: Path) -> Iterator[None]:
    """Be known to be at work in a folder, where the system can open one."""
    descriptor = None
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        claim(descriptor)
    try:
        yield
    finally:
        if descriptor is not None:
            with contextlib.suppress(OSError):  # nothing was written through it
                os.close(descriptor)


def sweep(folder: Path) -> None:
    """Remove from a folder what writers that were stopped have left, as far as this user may."""
    with contextlib.suppress(OSError):
        for entry in list(os.scandir(folder)):
            if _NAME.fullmatch(entry.name) and _is_nobodys(entry):
                if entry.is_dir(follow_symlinks=False):
                    import shutil  # start-up time: hardly ever needed

                    shutil.rmtree(entry.path, ignore_errors=True)
                else:
                    os.unlink(entry.path)


def _is_nobodys(entry: os.DirEntry[str]) -> bool:
    found = entry.stat(follow_symlinks=False)
    age = time.time() - found.st_mtime
    if age < OLD_SECONDS or not (stat.S_ISREG(found.st_mode) or stat.S_ISDIR(found.st_mode)):
        return False
    if fcntl is None:
        return age >= OLD_UNLOCKED_SECONDS
    descriptor = os.open(entry.path, os.O_RDONLY | os.O_NOFOLLOW)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return age >= OLD_UNLOCKED_SECONDS
    finally:
        os.close(descriptor)
    return True
