"""Copies of a cohort file as it was before each change: the newest few, and the last of each day.

A backup costs no time and no writing: before a new file takes the place of the old one, the old
one gets a second name in the hidden folder. Copies that were set aside for a reason (before a
change of format, before going back to a backup) stay for good.
"""

from __future__ import annotations

import contextlib
import os
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rearlog.records.errors import StoreError
from rearlog.store.durable import HIDDEN, hidden_folder, read_bytes, reason, sync_folder, write_new

NEWEST = 5
DAYS = 7
"""So many of the newest backups are kept, and the last one of so many days before them."""


@dataclass(frozen=True, slots=True)
class Backup:
    """One copy: its number (they rise), when it was written (local time), size, and place.

    `why` (“before …”) says why it was set aside; None for one that makes way for newer ones.
    """

    number: int
    written: datetime
    bytes: int
    path: Path
    why: str | None = None


def backups_of(target: Path) -> list[Backup]:
    """The backups of a cohort file, oldest first; raises StoreError where they cannot be listed."""
    pattern = re.compile(re.escape(target.name) + r"\.([1-9]\d{0,8})(?:\.(before-[a-z0-9-]+))?")
    found = []
    try:
        for entry in os.scandir(target.parent / HIDDEN):
            match = pattern.fullmatch(entry.name)
            if match and entry.is_file(follow_symlinks=False):
                known = entry.stat(follow_symlinks=False)
                written = datetime.fromtimestamp(known.st_mtime, UTC).astimezone()
                why = match[2].replace("-", " ") if match[2] else None
                backup = Backup(int(match[1]), written, known.st_size, Path(entry.path), why)
                found.append(backup)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise StoreError(f"the backups of {target} cannot be read: {reason(error)}") from error
    return sorted(found, key=lambda each: each.number)


def keep(target: Path, why: str | None = None) -> None:
    """Back up the file as it is; the caller holds its lock and is about to replace it.

    `why` begins with “before”. Raises StoreError where the backup fails: nothing is replaced
    without one.
    """
    known = backups_of(target)
    newest = known[-1] if known else None
    try:
        if not target.exists():
            return
        if why is None and newest is not None and newest.path.samefile(target):
            return  # a writer was stopped after this step
        number = newest.number + 1 if newest else 1
        name = f"{target.name}.{number}" + (f".{why.replace(' ', '-')}" if why else "")
        folder = hidden_folder(target)
        _second_name(target, folder / name)
        if why is not None:  # what is set aside may hold what the new file has not
            sync_folder(folder)
    except OSError as error:
        raise StoreError(
            f"{target} cannot be backed up: {reason(error)}; nothing changed"
        ) from error
    _make_way(known)


def _second_name(target: Path, copy: Path) -> None:
    try:
        os.link(target, copy)
    except OSError:  # some disks know no second names, and some users may not give one
        write_new(copy, read_bytes(target), like=target)
        found = os.stat(target)
        os.utime(copy, ns=(found.st_atime_ns, found.st_mtime_ns))


def _make_way(older: list[Backup]) -> None:
    """Remove backups that are neither among the newest nor the last of their day."""
    rolling = [each for each in older if each.why is None]
    recent = NEWEST - 1  # and the one just made
    last_of_day = {each.written.date(): each for each in rolling[:-recent]}
    kept = sorted(last_of_day.values(), key=lambda each: each.number)[-DAYS:]
    for each in rolling[:-recent]:
        if each not in kept:
            with contextlib.suppress(OSError):  # tidying up must not stop a record
                each.path.unlink()
