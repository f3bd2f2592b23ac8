"""Copies of a cohort file as it was before each change: the newest few, and the last of each day.

A backup costs no time and no writing: before a new file takes the place of the old one, the old
one gets a second name in the hidden folder, and its number once the new one is there. So the file
and a numbered backup are never one and the same, and an editor that writes into the one leaves the
other alone. Copies that were set aside for a reason (before a change of format, before going back
to a backup) make way only for others with the same reason.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from rearlog.disk import writing
from rearlog.disk.writing import reason, sync_folder, write_new
from rearlog.records.errors import StoreError
from rearlog.store.durable import HIDDEN, hidden_folder, read_bytes

NEWEST = 5
DAYS = 7
"""So many of the newest backups are kept, and the last one of so many days before them; of those
that were set aside, so many for each reason."""

_PENDING = "old"
"""In the place of a number, in the name of a backup whose file is about to be replaced."""


class Backup(Struct, frozen=True):
    """One copy: its number (they rise), when it was written (local time), size, and place.

    `why` (“before …”) says why it was set aside; None for one that makes way for any newer one.
    """

    number: int
    written: datetime
    bytes: int
    path: Path
    why: str | None = None


def backups_of(target: Path) -> list[Backup]:
    """The backups of a cohort file, oldest first; raises StoreError where they cannot be listed."""
    try:
        numbered, pending = _listed(target)
        return numbered + [each for each in pending if not _is_current(each, target)]
    except OSError as error:
        raise StoreError(f"the backups of {target} cannot be read: {reason(error)}") from error


def _listed(target: Path) -> tuple[list[Backup], list[Backup]]:
    """The backups by number, and those that have none yet, with the number that they will get."""
    name = re.escape(target.name)
    pattern = re.compile(name + rf"\.([1-9]\d{{0,8}}|{_PENDING})(?:\.(before-[a-z0-9-]+))?")
    numbered: list[Backup] = []
    pending: list[Backup] = []
    with contextlib.suppress(FileNotFoundError):
        for entry in os.scandir(target.parent / HIDDEN):
            match = pattern.fullmatch(entry.name)
            if match and entry.is_file(follow_symlinks=False):
                known = entry.stat(follow_symlinks=False)
                written = datetime.fromtimestamp(known.st_mtime, UTC).astimezone()
                why = match[2].replace("-", " ") if match[2] else None
                number = 0 if match[1] == _PENDING else int(match[1])
                backup = Backup(number, written, known.st_size, Path(entry.path), why)
                (numbered if number else pending).append(backup)
    numbered.sort(key=lambda each: each.number)
    pending.sort(key=lambda each: each.written)
    free = numbered[-1].number + 1 if numbered else 1
    return numbered, [replace(each, number=free + place) for place, each in enumerate(pending)]


def _is_current(backup: Backup, target: Path) -> bool:
    """Whether the file is still as this copy of it."""
    if not target.exists():
        return False
    copy, found = os.stat(backup.path), os.stat(target)
    if os.path.samestat(copy, found):
        return True
    alike = copy.st_size == found.st_size and copy.st_mtime_ns == found.st_mtime_ns
    return alike and read_bytes(backup.path) == read_bytes(target)


def set_aside(target: Path, why: str | None = None) -> None:
    """Keep the file as it is; the caller holds its lock and is about to replace it.

    `why` begins with “before”. Raises StoreError where that fails: nothing is replaced without
    a backup. `settle` makes a numbered backup of it when the file has been replaced.
    """
    try:
        settle(target)  # what a writer left that was stopped
        if not target.exists():
            return
        folder = hidden_folder(target)
        name = f"{target.name}.{_PENDING}" + (f".{why.replace(' ', '-')}" if why else "")
        _second_name(target, folder / name)
        if why is not None:  # what is set aside may hold what the new file has not
            sync_folder(folder)
    except OSError as error:
        raise StoreError(
            f"{target} cannot be backed up: {reason(error)}; nothing changed"
        ) from error


def settle(target: Path) -> None:
    """Give what was set aside its number, or drop it where the file was not replaced.

    The caller holds the lock. Raises OSError where that fails: then the next writer does it.
    """
    numbered, pending = _listed(target)
    for each in pending:
        if _is_current(each, target):
            os.unlink(each.path)
            continue
        why = f".{each.why.replace(' ', '-')}" if each.why else ""
        writing.replace(each.path, each.path.with_name(f"{target.name}.{each.number}{why}"))
        _make_way([*numbered, *pending], each.why)


def _second_name(target: Path, copy: Path) -> None:
    try:
        os.link(target, copy)
    except OSError:  # some disks know no second names, and some users may not give one
        write_new(copy, [read_bytes(target)], like=target)
        found = os.stat(target)
        with contextlib.suppress(PermissionError):
            os.utime(copy, ns=(found.st_atime_ns, found.st_mtime_ns))


def _make_way(backups: Iterable[Backup], why: str | None) -> None:
    """Remove backups with this reason, neither among its newest nor the last of their day."""
    alike = [each for each in backups if each.why == why]
    older = alike[:-NEWEST]
    last_of_day = {each.written.date(): each for each in older}
    kept = sorted(last_of_day.values(), key=lambda each: each.number)[-DAYS:]
    for each in older:
        if each not in kept:
            with contextlib.suppress(OSError):  # tidying up must not stop a record
                each.path.unlink()
