"""Going back to a backup, without losing what is newer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rearlog.records.errors import StoreError, UsageError
from rearlog.store.backups import Backup, backups_of
from rearlog.store.durable import read_bytes, refuse_unwritable, target_of
from rearlog.store.layout import decode
from rearlog.store.locking import lock
from rearlog.store.redacting import finish_stopped
from rearlog.store.storage import replace


@dataclass(frozen=True, slots=True)
class BackupContent:
    """What a backup holds: `written` is when it was the cohort file, `why` why it was set aside.

    `observations` and `individuals` are None where it cannot be read; `problem` says why not.
    """

    number: int
    written: datetime
    bytes: int
    individuals: int | None
    observations: int | None
    why: str | None = None
    problem: str | None = None


@dataclass(frozen=True, slots=True)
class States:
    """The backups of a cohort file, oldest first."""

    cohort: str
    file: str
    backups: tuple[BackupContent, ...]


def states_of(path: Path) -> States:
    """The backups that there are; raises StoreError where they cannot be listed."""
    backups = tuple(_state(each) for each in backups_of(target_of(path)))
    return States(path.stem, str(path), backups)


def restore(path: Path, number: int) -> BackupContent:
    """Bring one backup back as the cohort file, and say what it holds.

    The file as it is (if it is there, sound or not) is set aside as a backup before. Raises
    UsageError for a number that there is not, StoreError where the backup is not sound.
    """
    target = target_of(path)
    refuse_unwritable(target)
    finish_stopped(path)
    with lock(target):
        wanted = [each for each in backups_of(target) if each.number == number]
        if not wanted:
            raise UsageError(f"there is no backup {number}", f"see “rearlog restore {path.stem}”")
        content = read_bytes(wanted[0].path)
        decode(content, wanted[0].path)
        state = _state(wanted[0])
        replace(target, content, "before restoring")
    return state


def _state(backup: Backup) -> BackupContent:
    individuals = observations = problem = None
    try:
        tables = decode(read_bytes(backup.path), backup.path).tables
        individuals = len(tables.get("individuals", {}))
        observations = len(tables.get("observations", {}))
    except StoreError as error:
        problem = error.problems[0].message.removeprefix(f"{backup.path} ")
    return BackupContent(
        number=backup.number,
        written=backup.written,
        bytes=backup.bytes,
        individuals=individuals,
        observations=observations,
        why=backup.why,
        problem=problem,
    )
