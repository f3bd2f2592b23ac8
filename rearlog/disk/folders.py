"""A folder of several files that is written whole, or what was there stays."""

from __future__ import annotations

import contextlib
import ctypes
import os
import shutil
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path

from rearlog.disk.leftovers import beside, claimed, sweep
from rearlog.disk.writing import confirm, replace, set_mode, sync_folder, write_new

_HERE = -100  # AT_FDCWD of Linux
_EXCHANGE = 2  # RENAME_EXCHANGE of Linux, RENAME_SWAP of macOS


def write_folder(
    target: Path, files: Mapping[str, Iterable[bytes]], *, force: bool = False
) -> None:
    """Write the files, named with `/` between the parts, as a folder in the place of the target.

    Each is given piece by piece.

    The target is missing or empty, or with `force` a folder to be replaced. Raises as `put` does;
    then, and after a kill at any moment, the old folder or the new one is there, whole. (On a
    system that cannot let two folders change places, a kill may leave the old one under the name
    `aside`; the next call brings it back.)
    """
    aside = target.with_name(f".{target.name}.rearlog-old")
    _bring_back(aside, target)
    if os.path.lexists(target):
        _remove(aside)  # left by a writer that was stopped
    sweep(target.parent)
    work = beside(target)
    os.mkdir(work, 0o700)
    try:
        with claimed(work):
            new = work / "new"
            new.mkdir()
            for name, pieces in files.items():
                (new / name).parent.mkdir(parents=True, exist_ok=True)
                write_new(new / name, pieces, like=new / name)
            for folder, _, _ in os.walk(new, topdown=False):
                sync_folder(Path(folder))
            if target.is_dir():
                set_mode(new, stat.S_IMODE(os.stat(target).st_mode))
            _put(new, target, aside, force)
            confirm(target)  # before the old one goes
    finally:
        _remove(work)
    _remove(aside)


def _remove(folder: Path) -> None:
    with contextlib.suppress(OSError):  # the new folder is there all the same
        shutil.rmtree(folder, ignore_errors=True)


def _put(new: Path, target: Path, aside: Path, force: bool) -> None:
    try:
        os.rename(new, target)
    except OSError:
        if not target.is_dir() or (any(target.iterdir()) and not force):
            raise
    else:
        return
    if _swapped(new, target):
        return
    with contextlib.ExitStack() as undone:
        undone.callback(_bring_back, aside, target)
        replace(target, aside)  # until the next step, the old folder is there under this name only
        replace(new, target)
        undone.pop_all()


def _bring_back(aside: Path, target: Path) -> None:
    """Undo half an exchange: one that was stopped, or failed, between its two steps."""
    if os.path.isdir(aside) and not os.path.lexists(target):
        with contextlib.suppress(OSError):  # then the next call does it
            os.rename(aside, target)


def _swapped(one: Path, other: Path) -> bool:
    """Let two names change places in one step; False where the system or the disk cannot."""
    first, second = os.fsencode(one), os.fsencode(other)
    with contextlib.suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        with contextlib.suppress(AttributeError):
            return bool(library.renameat2(_HERE, first, _HERE, second, _EXCHANGE) == 0)
        return bool(library.renamex_np(first, second, _EXCHANGE) == 0)
    return False
