"""One file, written so that the old or the new content is there, whatever happens.

Disks differ. What one cannot do, and what does no harm to the file, is told and passed over.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import time
from collections.abc import Iterable
from pathlib import Path

from rearlog.disk.leftovers import claim
from rearlog.disk.notices import tell

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

OPEN_FILES_STAY = os.name == "nt"
"""Whether the system refuses to replace a file while something, say a virus scanner, reads it."""

_PAUSES_SECONDS = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.28)
_UNKNOWN = {errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOTTY}
_NOT_ALLOWED = {errno.EPERM, errno.EACCES}


class Unconfirmed(OSError):
    """The new file is in its place, but the disk did not confirm its name."""


def put(content: bytes, target: Path, beside: Path, *, like: Path, new: bool = False) -> None:
    """Write a file whole, or leave everything as it was; then raises OSError.

    The content goes into the temporary file `beside` (on the same disk; one that is there is thrown
    away), is flushed, and takes the place of the target; `new` refuses to take the place of
    anything (FileExistsError). Mode and owner are those of the file `like`, if it is there. Raises
    Unconfirmed where the new file is there, but may be gone after a power cut.
    """
    with contextlib.suppress(FileNotFoundError):
        os.unlink(beside)  # left by a writer that was stopped
    write_new(beside, [content], like)
    with contextlib.ExitStack() as undone:
        undone.callback(_discard, beside)
        if new:
            place(beside, target)
        else:
            replace(beside, target)
        undone.pop_all()
    confirm(target)


def confirm(target: Path) -> None:
    """Flush the name of a new file or folder; raises Unconfirmed where the disk fails at that."""
    try:
        sync_folder(target.parent)
    except OSError as error:
        raise Unconfirmed(error.errno, error.strerror) from error


def write_new(path: Path, pieces: Iterable[bytes], like: Path) -> None:
    """Write a file that must not exist yet, piece by piece, and flush it; mode and owner are those
    of `like`."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    descriptor = os.open(path, flags, 0o666)
    with contextlib.ExitStack() as undone:
        undone.callback(_discard, path)
        try:
            claim(descriptor)
            _take_after(descriptor, like)
            for piece in pieces:
                view = memoryview(piece)
                while view:
                    view = view[os.write(descriptor, view) :]
            _flush(descriptor, path.parent)
        finally:
            os.close(descriptor)
        undone.pop_all()


def _discard(path: Path) -> None:
    with contextlib.suppress(OSError):
        os.unlink(path)


def replace(source: Path, target: Path) -> None:
    """Rename a file or folder, in the place of another; tried again while that is in use."""
    for pause in _PAUSES_SECONDS:
        try:
            os.replace(source, target)
        except OSError as error:
            held = OPEN_FILES_STAY and isinstance(error, PermissionError)
            if not held and error.errno not in (errno.EBUSY, errno.ETXTBSY):
                raise
            time.sleep(pause)
        else:
            return
    os.replace(source, target)


def place(source: Path, target: Path) -> None:
    """Give a file another name, which must be free; raises FileExistsError where it is not."""
    if also_name(source, target):
        _discard(source)  # if that fails, the next writer throws it away


def also_name(source: Path, target: Path) -> bool:
    """Give a file another name, beside the one that it has; raises FileExistsError where that is
    taken.

    On a disk that knows no second names (False) it has only the new one then, and two who do so at
    the same moment are told apart by their lock alone.
    """
    try:
        os.link(source, target)
    except FileExistsError:
        raise
    except OSError:
        if os.path.lexists(target):
            taken = os.strerror(errno.EEXIST)
            raise FileExistsError(errno.EEXIST, taken, str(target)) from None
        os.rename(source, target)
        return False
    return True


def set_mode(path: Path | int, mode: int) -> None:
    """Change who may read and write, where the disk and the system let this user."""
    try:
        os.chmod(path, mode)
    except OSError as error:
        if error.errno not in _UNKNOWN | _NOT_ALLOWED:
            raise
        tell(f"who may read and write cannot be set on this disk: {reason(error)}")


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
    if stat.S_IMODE(given.st_mode) != stat.S_IMODE(wanted.st_mode):
        set_mode(descriptor, stat.S_IMODE(wanted.st_mode))


def _flush(descriptor: int, folder: Path) -> None:
    """Have the disk write what it was given."""
    if hasattr(fcntl, "F_FULLFSYNC"):  # macOS: fsync leaves it in the memory of the drive
        with contextlib.suppress(OSError):  # such as a disk on the network
            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
            return
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in _UNKNOWN:
            raise
        _tell_unsynced(folder, error)


def sync_folder(folder: Path) -> None:
    """Flush a folder, so that the names in it are on the disk."""
    if os.name == "nt":  # folders cannot be opened for syncing there
        return
    try:
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno not in _UNKNOWN | _NOT_ALLOWED:
            raise
        _tell_unsynced(folder, error)


def _tell_unsynced(folder: Path, error: OSError) -> None:
    tell(
        f"the disk of {folder} does not confirm what it has written ({reason(error)}): "
        "after a power cut the last change may be missing"
    )


def reason(error: Exception) -> str:
    """What the system says about an error, without the file name."""
    return (getattr(error, "strerror", None) or str(error)).lower()
