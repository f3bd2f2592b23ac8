"""Several files as one thing: a folder, or a ZIP archive. Written whole or not at all."""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from rearlog.disk.folders import write_folder
from rearlog.disk.names import refuse_reserved
from rearlog.disk.outputs import unwritten, write_output
from rearlog.exchange import bounded
from rearlog.exchange.delimited import beyond_bounds
from rearlog.exchange.packed import Content, pieces
from rearlog.records.errors import ImportRefused, Problem, UsageError

Files = Mapping[str, Content]
"""The contents of files by their paths, with `/` between the parts."""

LARGEST_ARCHIVE, LARGEST_BYTES = 16 * 2**20, 128 * 2**20
MOST_FILES, MOST_PACKED = 1_000, 200
"""An archive beyond these is refused: bytes of it, bytes and files in it, bytes from one byte."""

_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""Other ways of packing may take as much memory as they ask for."""

# EOFError and zlib's: cut off or damaged; RuntimeError: a password, or a rare way of packing
_NO_ARCHIVE = (zipfile.BadZipFile, EOFError, zlib.error, RuntimeError)
_LONG_MEMBER = 2_000_000_000
"""Longer members, in bytes, need longer numbers in the archive."""


def is_archive(path: Path) -> bool:
    """Whether a path names a ZIP archive, not a folder."""
    return path.suffix.lower() == ".zip"


def write(path: Path, files: Files, *, force: bool = False) -> None:
    """Write the files into a new folder, or into a ZIP archive where the path ends in .zip.

    The same files give the same archive. With `force` an archive, or a folder that has nothing but
    these files, is replaced. Raises UsageError where something is in the way, RearlogError where
    writing fails; then what was there is as it was.
    """
    if is_archive(path):
        write_output(path, zipped(files), force=force)
        return
    refuse_reserved(path.name)
    try:
        target = Path(os.path.realpath(path))
        _refuse_taken(path, target, files, force)
        write_folder(
            target, {name: pieces(content) for name, content in files.items()}, force=force
        )
    except (OSError, ValueError) as error:  # ValueError: a name that no folder can have
        raise unwritten(path, error) from error


def _refuse_taken(path: Path, target: Path, files: Files, force: bool) -> None:
    if not target.parent.is_dir():
        raise UsageError(f"there is no folder {path.parent}", "make it first")
    if target == Path.cwd():
        raise UsageError("the current folder cannot be replaced", "give the name of a new one")
    if not os.path.lexists(target):
        return
    if not target.is_dir():
        raise UsageError(f"{path} is a file", "choose another name")
    there = [each.relative_to(target).as_posix() for each in target.rglob("*")]
    if there and not force:
        raise UsageError(f"{path} exists already", "choose another name, or add --force")
    folders = {str(Path(name).parent) for name in files}
    others = sorted(name for name in there if name not in files and name not in folders)
    if others:
        more = f" and {len(others) - 3} more" if len(others) > 3 else ""
        raise UsageError(
            f"{path} has other files in it: {', '.join(others[:3])}{more}",
            "choose another folder; --force replaces only what was exported",
        )


def zipped(files: Files) -> bytes:
    """The files as a ZIP archive: the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, content in files.items():
            # a member that is only named is dated 1980, whenever it is written
            long = len(content) > _LONG_MEMBER
            with archive.open(name, "w", force_zip64=long) as member:
                for piece in pieces(content):
                    member.write(piece)
            archive.getinfo(name).external_attr = 0o644 << 16
    return out.getvalue()


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Path]:
    """The folder itself, or one for the time being into which the archive was unpacked.

    Raises ImportRefused where it cannot be read.
    """
    if os.path.isdir(path):  # false, too, for a name that no file can have
        yield path
        return
    with tempfile.TemporaryDirectory() as folder:
        with bounded.opened(path, LARGEST_ARCHIVE) as file:
            try:
                with zipfile.ZipFile(file) as archive:
                    if told := _too_much(archive.infolist()):
                        raise ImportRefused(Problem(told, str(path)))
                    archive.extractall(folder)
            except _NO_ARCHIVE as error:
                raise ImportRefused(
                    Problem(f"is neither a folder nor a ZIP archive: {error}", str(path))
                ) from error
        yield Path(folder)


def untakeable(path: Path, files: Files) -> str:
    """Why what was just written there would not be read again; nothing where it would."""
    for name, content in files.items():
        if name.endswith(".csv") and (told := beyond_bounds(content)):
            return f"{name}: {told}"
    if not is_archive(path):
        return ""
    with zipfile.ZipFile(path) as archive:
        if told := _too_much(archive.infolist()):
            return told
    large = os.path.getsize(path) > LARGEST_ARCHIVE
    return f"it has more than {LARGEST_ARCHIVE / 2**20:.0f} MB" if large else ""


def _too_much(members: Sequence[zipfile.ZipInfo]) -> str:
    """Why an archive is not unpacked; nothing where it may be.

    The sizes that it tells are those that are unpacked: zipfile reads no further.
    """
    if len(members) > MOST_FILES:
        return f"there are {len(members):,} files in it, more than {MOST_FILES:,} are not taken"
    if sum(each.file_size for each in members) > LARGEST_BYTES:
        return f"there is too much in it: more than {LARGEST_BYTES / 2**20:.0f} MB are not taken"
    for each in members:
        if each.file_size > MOST_PACKED * (each.compress_size + 1_000):
            return f"{each.filename[:80]} is packed more than {MOST_PACKED} times"
        if each.compress_type not in _PACKED:
            return f"{each.filename[:80]} is packed in a way that is not taken"
    return ""
