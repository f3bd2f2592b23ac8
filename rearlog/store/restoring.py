"""Going back to a backup, without losing what is newer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from msgspec import Struct, structs

from rearlog.records.command_text import CommandText
from rearlog.records.errors import StoreError, UsageError
from rearlog.records.log import CohortLog, Individual, Observation, Temperature
from rearlog.store.backups import Backup, backups_of
from rearlog.store.calling import called
from rearlog.store.durable import read_bytes, refuse_unwritable, target_of
from rearlog.store.layout import decode, first_of
from rearlog.store.locking import lock
from rearlog.store.opening import read_log, refuse_absent
from rearlog.store.reading import gathered, log_in
from rearlog.store.redacting import finish_stopped
from rearlog.store.storage import replace

R = TypeVar("R", Individual, Observation, Temperature)


class BackupContent(Struct, frozen=True):
    """What a backup holds: `written` is when it was the cohort file, `why` why it was set aside.

    `individuals` and `observations`, counted as by `verify` without those that were withdrawn and
    what was seen of them, are None where it cannot be read; `problem` says why not.
    """

    number: int
    written: datetime
    bytes: int
    individuals: int | None
    observations: int | None
    why: str | None = None
    problem: str | None = None


class States(Struct, frozen=True):
    """The backups of a cohort file, oldest first."""

    cohort: str
    file: str
    backups: tuple[BackupContent, ...]


class Loss(Struct, frozen=True):
    """What a cohort file holds and a backup has not: what going back to it takes away.

    `marks` counts the records and individuals that would be as they were before they were struck
    out, withdrawn, or taken back.
    """

    individuals: tuple[Individual, ...]
    observations: tuple[Observation, ...]
    temperatures: tuple[Temperature, ...]
    marks: int

    @property
    def anything(self) -> bool:
        """Whether the file holds anything that the backup has not."""
        return bool(self.individuals or self.observations or self.temperatures or self.marks)


def loss_of(path: Path, number: int) -> Loss | None:
    """What going back to a backup would take away; None where the file cannot be read now.

    Raises UsageError for a number that there is not, StoreError where the backup is not sound.
    """
    wanted = _wanted(path, number)
    before = log_in(decode(read_bytes(wanted.path), wanted.path).tables, wanted.path)
    try:
        now = log_in(decode(read_bytes(path), path).tables, path)
    except StoreError:
        return None
    people = before.everybody, now.everybody
    looks = before.every_observation, now.every_observation
    temperatures = before.all_temperatures, now.all_temperatures
    return Loss(
        _only_in(*people),
        _only_in(*looks),
        _only_in(*temperatures),
        _other_marks(*people) + _other_marks(*looks) + _other_marks(*temperatures),
    )


def _bare(record: R) -> R:
    return structs.replace(record, marks=())


def _only_in(old: Sequence[R], new: Sequence[R]) -> tuple[R, ...]:
    known = {_bare(each) for each in old}
    return tuple(each for each in new if _bare(each) not in known)


def _other_marks(old: Sequence[R], new: Sequence[R]) -> int:
    marks = {_bare(each): each.marks for each in old}
    return sum(marks.get(_bare(each), each.marks) != each.marks for each in new)


def _backups(path: Path) -> list[Backup]:
    """The backups of a cohort; raises StoreError where neither they nor its file are there."""
    found = backups_of(target_of(path))
    if not found:
        refuse_absent(path)
    return found


def _wanted(path: Path, number: int) -> Backup:
    wanted = [each for each in _backups(path) if each.number == number]
    if not wanted:
        remedy = CommandText(f"see “rearlog restore {called(path)}”", "look at the list again")
        raise UsageError(f"there is no backup {number}", remedy)
    return wanted[0]


def states_of(path: Path) -> States:
    """The backups that there are; raises StoreError where they cannot be listed, or where there is
    no such cohort. One whose file cannot be read is called as its file."""
    found = _backups(path)
    try:
        label = read_log(path).cohort.name
    except StoreError:
        label = path.stem
    return States(label, str(path), tuple(map(_state, found)))


def restore(path: Path, number: int) -> BackupContent:
    """Bring one backup back as the cohort file, and say what it holds.

    The file as it is (if it is there, sound or not) is set aside as a backup before. Raises
    UsageError for a number that there is not, StoreError where the backup is not sound.
    """
    target = target_of(path)
    refuse_unwritable(target)
    finish_stopped(path)
    with lock(target):
        wanted = _wanted(path, number)
        content = read_bytes(wanted.path)
        _held(content, wanted.path)
        state = _state(wanted)
        replace(target, content, "before restoring")
    return state


def _held(content: bytes, path: Path) -> CohortLog:
    """What a backup holds, as far as it can be read; raises StoreError where it is not sound."""
    tables = decode(content, path).tables
    try:
        return log_in(tables, path, temperatures=False)
    except StoreError:
        found, problems = gathered(tables, path, temperatures=False)
    if found is None:
        raise StoreError(first_of(problems))
    return found


def _state(backup: Backup) -> BackupContent:
    individuals = observations = problem = None
    try:
        held = _held(read_bytes(backup.path), backup.path)
        individuals, observations = len(held.individuals), len(held.all_observations)
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
