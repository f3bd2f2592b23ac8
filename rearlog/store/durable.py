"""Files that are written whole or not at all, and are still there when the power has failed."""

from __future__ import annotations

import contextlib
import os
import stat
from pathlib import Path

from rearlog.records.errors import StoreError

HIDDEN = ".rearlog"
"""The folder beside the cohort files that keeps locks, backups and unfinished writes."""

LARGEST_BYTES = 256 * 2**20
"""A file beyond this is refused unread: it would not fit into memory."""


def target_of(path: Path) -> Path:
    """The file itself where the path is a symbolic link, so that the link stays one."""
    return Path(os.path.realpath(path)) if os.path.islink(path) else path


def hidden_folder(target: Path) -> Path:
    """The hidden folder beside a file, made if it is missing.

    Whoever may write in the folder of the cohorts may write in it. Raises StoreError where
    something else bears its name: through a link, files elsewhere could be replaced.
    """
    folder = target.parent / HIDDEN
    try:
        os.mkdir(folder)
    except FileExistsError:
        if not stat.S_ISDIR(os.lstat(folder).st_mode):
            raise StoreError(
                f"{folder} is not a folder of its own", "move it away, or what it links to"
            ) from None
    else:
        with contextlib.suppress(PermissionError):  # some disks know no permissions
            os.chmod(folder, stat.S_IMODE(os.stat(target.parent).st_mode))
    return folder


def read_bytes(path: Path) -> bytes:
    """The file's content; raises StoreError where it cannot be had."""
    try:
        found = os.stat(path)
        if not stat.S_ISREG(found.st_mode):
            raise StoreError(f"{path} is not a file", "give the path of a cohort file")
        if found.st_size > LARGEST_BYTES:
            size = f"{found.st_size / 2**20:.0f} MB"
            raise StoreError(f"{path} is too large for a cohort file ({size})")
        return path.read_bytes()
    except FileNotFoundError:
        raise StoreError(*_missing(path)) from None
    except (OSError, ValueError) as error:
        raise StoreError(f"{path} cannot be read: {reason(error)}") from error


def _missing(path: Path) -> tuple[str, str]:
    if path.is_symlink():
        return f"{path} links to {os.readlink(path)}, which is not there", "mend the link"
    return f"there is no cohort file {path}", "start one with “rearlog start”, or check the name"


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


def write_atomically(target: Path, content: bytes) -> None:
    """Replace a file's content so that either the old or the new is there, whatever happens.

    Writes a temporary file, flushes it to the disk, renames it, and flushes the folder. The
    caller holds the file's lock, so a temporary file that is there was left by a writer that was
    stopped, and is thrown away. Raises StoreError where it fails: the message says which of the
    two contents is there.
    """
    try:
        temporary = hidden_folder(target) / f"{target.name}.new"
        temporary.unlink(missing_ok=True)
        write_new(temporary, content, like=target)
        os.replace(temporary, target)
    except OSError as error:
        raise StoreError(f"{target} cannot be written: {reason(error)}; nothing changed") from error
    try:
        sync_folder(target.parent)
    except OSError as error:
        raise StoreError(
            f"{target} was written, but the disk did not confirm it: {reason(error)}",
            "make a copy elsewhere before this machine is switched off",
        ) from error


def write_new(path: Path, content: bytes, like: Path) -> None:
    """Write a file that must not exist yet, and flush it; mode and owner are those of `like`."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    descriptor = os.open(path, flags, 0o666)
    try:
        try:
            _take_after(descriptor, like)
            view = memoryview(content)
            while view:
                view = view[os.write(descriptor, view) :]
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError:
        with contextlib.suppress(OSError):
            os.unlink(path)
        raise


def _take_after(descriptor: int, like: Path) -> None:
    """Give an open file the group, owner and mode of another, as far as this user may."""
    if os.name == "nt" or not like.exists():
        return
    wanted, given = os.stat(like), os.fstat(descriptor)
    with contextlib.suppress(PermissionError):
        if given.st_gid != wanted.st_gid:
            os.fchown(descriptor, -1, wanted.st_gid)
        if given.st_uid != wanted.st_uid:
            os.fchown(descriptor, wanted.st_uid, -1)
    os.fchmod(descriptor, stat.S_IMODE(wanted.st_mode))


def sync_folder(folder: Path) -> None:
    """Flush a folder, so that the names in it are on the disk."""
    if os.name == "nt":  # folders cannot be opened for syncing there
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def reason(error: Exception) -> str:
    """What the system says about an error, without the file name."""
    return (getattr(error, "strerror", None) or str(error)).lower()
