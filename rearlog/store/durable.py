"""Cohort files on the disk: read whole, replaced whole, with a hidden folder beside them."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from contextvars import ContextVar
from pathlib import Path

from rearlog.disk.writing import Unconfirmed, put, reason, set_mode
from rearlog.records.command_text import CommandText
from rearlog.records.errors import StoreError

HIDDEN = ".rearlog"
"""The folder beside the cohort files that keeps locks, backups and unfinished writes."""

LARGEST_BYTES = 256 * 2**20
"""A file beyond this is refused unread: it would not fit into memory."""


Contents = dict[Path, tuple[bytes | None, bytes]]
"""Of files their content before the first writing (None: there was none) and after the last."""

_WATCHED: ContextVar[Contents | None] = ContextVar("watched", default=None)


@contextlib.contextmanager
def watched() -> Iterator[Contents]:
    """Keep what is written meanwhile, as it was before and as it is after."""
    found: Contents = {}
    token = _WATCHED.set(found)
    try:
        yield found
    finally:
        _WATCHED.reset(token)


def target_of(path: Path) -> Path:
    """The file itself where the path is a symbolic link, so that the link stays one."""
    return Path(os.path.realpath(path)) if os.path.islink(path) else path


def hidden_folder(target: Path) -> Path:
    """The hidden folder beside a file, made if it is missing.

    Whoever may write in the folder of the cohorts may write in it. Raises StoreError where
    something else bears its name: through a link, files elsewhere could be replaced.
    """
    folder = target.parent / HIDDEN
    own_folder(folder, target.parent)
    return folder


def own_folder(folder: Path, like: Path) -> bool:
    """Make a folder with the rights of another, if it is missing; whether it was.

    Raises StoreError where something else bears its name, be it a link to a folder elsewhere.
    """
    try:
        os.mkdir(folder)
    except FileExistsError:
        if stat.S_ISDIR(os.lstat(folder).st_mode):
            return False
        raise StoreError(
            f"{folder} is not a folder of its own", "move it away, or what it links to"
        ) from None
    set_mode(folder, stat.S_IMODE(os.stat(like).st_mode))
    return True


def unfinished_redaction(target: Path) -> Path:
    """Where it is written down what a redaction takes out, until that is done."""
    return target.parent / HIDDEN / f"{target.name}.redaction"


def read_bytes(path: Path) -> bytes:
    """The file's content; raises StoreError where it cannot be had."""
    refuse_no_file(path)
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise StoreError(*_missing(path)) from None
    except (OSError, ValueError) as error:
        raise StoreError(f"{path} cannot be read: {reason(error)}") from error


def refuse_no_file(path: Path, meant: str = "") -> None:
    """Raise StoreError where there is no file (then saying what was `meant`, if that is known), or
    one that is too large."""
    try:
        found = os.stat(path)
    except FileNotFoundError:
        message, remedy = _missing(path)
        raise StoreError(message, meant or remedy) from None
    except (OSError, ValueError) as error:
        raise StoreError(f"{path} cannot be read: {reason(error)}") from error
    if not stat.S_ISREG(found.st_mode):
        raise StoreError(f"{path} is not a file", "give the path of a cohort file")
    if found.st_size > LARGEST_BYTES:
        size = f"{found.st_size / 2**20:.0f} MB"
        raise StoreError(f"{path} is too large for a cohort file ({size})")


def _missing(path: Path) -> tuple[str, str]:
    if path.is_symlink():
        return f"{path} links to {os.readlink(path)}, which is not there", "mend the link"
    remedy = CommandText("start one with “rearlog start”, or check the name", "start one")
    return f"there is no cohort file {path}", remedy


def is_there(path: Path) -> bool:
    """Whether something bears this name, be it a link to nothing; raises StoreError if unsure."""
    try:
        os.lstat(path)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise StoreError(f"{path} cannot be looked at: {reason(error)}") from error
    return True


def refuse_unwritable(path: Path) -> None:
    """Raise StoreError where the file is there and is not to be written."""
    try:
        mode = os.stat(path).st_mode
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        raise StoreError(f"{path} cannot be written: {reason(error)}") from error
    # a file without any write permission is meant to stay, even where the user is mightier
    if not mode & 0o222 or not os.access(path, os.W_OK):
        raise StoreError(f"{path} is read-only; nothing changed", "allow writing to it first")


def write_atomically(target: Path, content: bytes, *, new: bool = False) -> None:
    """Replace a file's content so that either the old or the new is there, whatever happens.

    `new` refuses to take the place of anything. The caller holds the file's lock, so a temporary
    file that is there was left by a writer that was stopped, and is thrown away. Raises StoreError
    where it fails: the message says which of the two contents is there.
    """
    seen = _WATCHED.get()
    before = target.read_bytes() if seen is not None and os.path.lexists(target) else None
    try:
        temporary = hidden_folder(target) / f"{target.name}.new"
        put(content, target, temporary, like=target, new=new)
    except FileExistsError:
        raise StoreError(f"{target} exists already", "choose another name") from None
    except Unconfirmed as error:
        raise StoreError(
            f"{target} was written, but the disk did not confirm it: {reason(error)}",
            "make a copy elsewhere before this machine is switched off",
        ) from error
    except OSError as error:
        raise StoreError(f"{target} cannot be written: {reason(error)}; nothing changed") from error
    if seen is not None:
        first, _ = seen.get(target, (before, b""))
        seen[target] = first, content
