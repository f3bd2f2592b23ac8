"""The pictures of a cohort: files in NAME.photos beside the cohort file, named by their content.

A look names its picture by the SHA-256 of the bytes. The picture is written before the look, so
that what a look names is there; one that no look names does no harm. Nothing but a redaction takes
one away: going back to a backup finds again those that its looks name.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from rearlog.disk.leftovers import beside, sweep
from rearlog.disk.notices import tell
from rearlog.disk.writing import put, reason, sync_folder
from rearlog.records.errors import Problem, StoreError
from rearlog.records.log import CohortLog, Observation
from rearlog.records.values import PHOTO
from rearlog.records.wording import counted, record_name
from rearlog.store.durable import own_folder, target_of

MOST_PHOTOS = 20_000
"""So many pictures may stand beside a cohort, however many somebody sends."""

_LARGEST_BYTES = 2**26
_ENDING = ".jpg"


class Photos(Struct, frozen=True):
    """The pictures beside a cohort: how many its looks name, and how many nobody does.

    `problems` are those that are missing, or not what they were.
    """

    named: int = 0
    nameless: int = 0
    problems: tuple[Problem, ...] = ()


def folder_of(path: Path) -> Path:
    """Where the pictures of a cohort are, given its file."""
    target = target_of(path)
    return target.with_name(f"{target.stem}.photos")


def name_of(content: bytes) -> str:
    """How a look names a picture."""
    return sha256(content).hexdigest()


def keep(path: Path, content: bytes) -> str:
    """Keep a picture beside a cohort file, and say what it is called; it is on the disk then.

    One that is there already stays as it is. Raises StoreError where it cannot be written, or
    there are too many.
    """
    name, folder = name_of(content), folder_of(path)
    if photo(path, name) is not None:
        return name
    try:
        parent = target_of(path).parent
        if own_folder(folder, parent):
            sync_folder(parent)
        if len(os.listdir(folder)) >= MOST_PHOTOS:
            raise StoreError(f"{folder} holds {MOST_PHOTOS} pictures already; this one is not kept")
        sweep(folder)
        target = folder / (name + _ENDING)
        put(content, target, beside(target), like=target_of(path))
    except OSError as error:
        raise StoreError(f"{folder} cannot be written: {reason(error)}") from error
    return name


def photo(path: Path, name: str) -> bytes | None:
    """A picture of a cohort by its name; None where it is not there, or not what it was.

    Raises StoreError where the disk fails.
    """
    try:
        return _sound(folder_of(path) / (name + _ENDING), name)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StoreError(f"a picture of {path} cannot be read: {reason(error)}") from error


def is_kept(path: Path, name: str) -> bool:
    """Whether a picture of that name is beside a cohort file, without reading it."""
    file = folder_of(path) / (name + _ENDING)
    return PHOTO.fullmatch(name) is not None and file.is_file() and not file.is_symlink()


def _sound(file: Path, name: str) -> bytes | None:
    found = os.lstat(file)
    if not PHOTO.fullmatch(name) or not stat.S_ISREG(found.st_mode):
        return None
    if found.st_size > _LARGEST_BYTES:
        return None
    content = file.read_bytes()
    return content if name_of(content) == name else None


def _every(log: CohortLog) -> Iterator[Observation]:
    """The looks that name a picture, whether they count or not."""
    return (each for each in log.every_observation if each.photo)


def names_in(log: CohortLog) -> list[str]:
    """The pictures that looks name, struck out or not, each once."""
    return [*dict.fromkeys(each.photo for each in _every(log) if each.photo)]


def looked_through(path: Path, log: CohortLog) -> Photos:
    """Whether the pictures that looks name are there as they were, and which nobody names."""
    folder = folder_of(path)
    problems: list[Problem] = []
    names: dict[str, Observation] = {}
    for look in _every(log):
        assert look.photo is not None
        names.setdefault(look.photo, look)
    for name, look in names.items():
        where = f"{look.individual}, {record_name(look.number)}"
        remedy = f"look for {name}{_ENDING} in a copy, and put it into {folder.name}"
        try:
            if _sound(folder / (name + _ENDING), name) is None:
                told = "its picture was damaged, or is another"
                problems.append(Problem(told, where, remedy))
        except FileNotFoundError:
            problems.append(Problem("its picture is missing", where, remedy))
        except OSError as error:
            problems.append(Problem(f"its picture cannot be read: {reason(error)}", where))
    return Photos(len(names), len(_there(folder) - names.keys()), tuple(problems))


def _there(folder: Path) -> set[str]:
    """The names of all pictures in a folder."""
    with contextlib.suppress(OSError):
        found = (os.path.splitext(each) for each in os.listdir(folder))
        return {name for name, ending in found if ending == _ENDING and PHOTO.fullmatch(name)}
    return set()


def fetch(path: Path, copy: Path, names: Iterable[str]) -> int:
    """Take over pictures from beside a copy of the cohort, those that are not here; how many.

    Those that neither has are told, and are no reason to leave the looks.
    """
    taken = missing = 0
    for name in names:
        if photo(path, name) is not None:
            continue
        content = photo(copy, name)
        if content is None:
            missing += 1
            continue
        keep(path, content)
        taken += 1
    if missing:
        tell(f"{counted(missing, 'picture')} that looks name stand beside neither of the files")
    return taken


def remove(path: Path, names: Iterable[str]) -> None:
    """Take pictures away for good; raises OSError where that fails."""
    folder = folder_of(path)
    gone = [folder / (name + _ENDING) for name in names if PHOTO.fullmatch(name)]
    for each in gone:
        each.unlink(missing_ok=True)
    if gone and folder.is_dir():
        sync_folder(folder)
