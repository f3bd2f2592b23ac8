"""The files that a command is asked for: each is written whole, or what was there stays."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from rearlog.disk.leftovers import beside, sweep
from rearlog.disk.names import refuse_reserved
from rearlog.disk.writing import Unconfirmed, put, reason
from rearlog.records.errors import RearlogError, UsageError


def refuse_taken(path: Path, force: bool) -> None:
    """Raise UsageError where no file can be written, or only over another and without `force`."""
    _free_target(path, force)


def write_output(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write a file; with `force` it may take the place of another.

    Raises UsageError where the path cannot be taken, RearlogError where writing fails; then what
    was there is as it was.
    """
    target = _free_target(path, force)
    sweep(target.parent)
    try:
        put(content, target, beside(target), like=target, new=not force)
    except FileExistsError:
        raise _taken(path) from None
    except (OSError, ValueError) as error:
        raise unwritten(path, error) from error


def unwritten(path: Path, error: Exception) -> RearlogError:
    """What is told where writing failed."""
    if isinstance(error, Unconfirmed):
        message = f"{path} was written, but the disk did not confirm it: {reason(error)}"
        return RearlogError(message, "look whether it is there, and make a copy elsewhere")
    return RearlogError(f"{path} cannot be written: {reason(error)}; nothing changed")


def _taken(path: Path) -> UsageError:
    return UsageError(f"{path} exists already", "choose another name, or add --force")


def _free_target(path: Path, force: bool) -> Path:
    """The file that is meant, also where the path is a link to it."""
    refuse_reserved(path.name)
    try:
        target = Path(os.path.realpath(path))
        if not target.parent.is_dir():
            raise UsageError(f"there is no folder {path.parent}", "make it first")
        mode = os.stat(target).st_mode if os.path.lexists(target) else None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        raise unwritten(path, error) from error
    if mode is None:
        return target
    if stat.S_ISDIR(mode):
        raise UsageError(f"{path} is a folder", "give the name of a file in it")
    if not stat.S_ISREG(mode):
        raise UsageError(f"{path} is not a file", "give the name of a new one")
    if not force:
        raise _taken(path)
    if not mode & 0o222 or not os.access(target, os.W_OK):
        raise RearlogError(f"{path} is read-only; nothing changed", "allow writing to it first")
    return target
