"""Is a cohort file whole, and does everything in it keep the rules?"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from msgspec import Struct, structs

from rearlog.records.command_text import CommandText
from rearlog.records.errors import Problem, StoreError
from rearlog.records.log import CohortLog
from rearlog.records.rules import problems_of, problems_of_individual
from rearlog.records.temperature_rules import contradictions, problems_of_temperature
from rearlog.store.backups import backups_of
from rearlog.store.calling import called
from rearlog.store.codec import Misfit
from rearlog.store.durable import (
    read_bytes,
    refuse_unwritable,
    target_of,
    unfinished_redaction,
    write_atomically,
)
from rearlog.store.layout import Content, back_to_a_backup, encode, inspect
from rearlog.store.locking import lock
from rearlog.store.opening import refuse_absent
from rearlog.store.photos import Photos, looked_through
from rearlog.store.reading import gathered
from rearlog.store.redacting import finish_stopped
from rearlog.store.redaction import kept_redacted, redactions_in
from rearlog.store.storage import replace

ProfileCheck = Callable[[object, str], list[Problem]]
"""Checks a profile as a document; its place goes into the problems (rearlog.species.loader)."""


class Verification(Struct, frozen=True):
    """What is in a cohort file, and everything that is wrong with it.

    `format` and `intact` (the checksum fits) are None where the file cannot be read at all;
    `backups` and `backup_bytes` (all of them together) where these cannot be listed. `photos` are
    the pictures that looks name; those that none does, `photos_unnamed`, are no fault.
    """

    cohort: str
    file: str
    sound: bool
    format: int | None
    intact: bool | None
    bytes: int
    individuals: int
    observations: int
    struck: int
    temperatures: int
    problems: tuple[Problem, ...]
    backups: int | None = None
    backup_bytes: int | None = None
    photos: int = 0
    photos_unnamed: int = 0


def verify(path: Path, now: datetime, check_profile: ProfileCheck) -> Verification:
    """Look at the whole file: JSON, format, checksum, and every rule for every record.

    A redaction that was stopped is finished before.
    """
    finish_stopped(path)
    try:
        refuse_absent(path)
        raw = read_bytes(path)
    except StoreError as error:
        return _with_backups(_unreadable(path, 0, error.problems), path)
    return _with_backups(_verified(path, raw, now, check_profile), path)


def accept(path: Path, now: datetime, check_profile: ProfileCheck) -> Verification:
    """Take over what was changed by hand: give the file the checksum that fits it.

    Raises StoreError where anything else is wrong with it, or nothing is. The file as it was is
    set aside as a backup. What was redacted and has come back is taken out again; then no copy of
    the file as it was is kept.
    """
    target = target_of(path)
    refuse_unwritable(target)
    finish_stopped(path)
    with lock(target):
        raw = read_bytes(path)
        found = _verified(path, raw, now, check_profile, photos=False)
        if found.sound:
            raise StoreError(f"{path} is sound: there is nothing to accept")
        if found.intact is not False or len(found.problems) > 1:
            raise StoreError(found.problems)
        tables, came_back = kept_redacted(inspect(raw, path).tables)
        accepted = encode(tables)
        if came_back:
            write_atomically(target, accepted)
        else:
            replace(target, accepted, "before accepting")
        return _with_backups(_verified(path, accepted, now, check_profile), path)


def _with_backups(found: Verification, path: Path) -> Verification:
    try:
        known = backups_of(target_of(path))
    except StoreError:
        return found
    total = sum(each.bytes for each in known)
    return structs.replace(found, backups=len(known), backup_bytes=total)


def _unreadable(path: Path, size: int, problems: tuple[Problem, ...]) -> Verification:
    return Verification(path.stem, str(path), False, None, None, size, 0, 0, 0, 0, problems)


def _verified(
    path: Path, raw: bytes, now: datetime, check_profile: ProfileCheck, *, photos: bool = True
) -> Verification:
    try:
        content = inspect(raw, path)
    except StoreError as error:
        return _unreadable(path, len(raw), error.problems)
    problems = [] if content.intact else [_changed(path), *_repeated_keys(raw, path)]
    log, misfits = gathered(content.tables, path)
    problems += misfits
    problems += [*_of_redactions(content, path), *_unfinished(path)]
    problems += _of_profile(content, check_profile)
    if log is not None:
        problems += _of_log(log, now)
    pictures = looked_through(path, log) if log is not None and photos else Photos()
    problems += pictures.problems
    observations = log.all_observations if log else ()
    return Verification(
        cohort=log.cohort.name if log else path.stem,
        file=str(path),
        sound=not problems,
        format=content.format,
        intact=content.intact,
        bytes=len(raw),
        individuals=len(log.individuals) if log else 0,
        observations=len(observations),
        struck=sum(each.struck is not None for each in observations),
        temperatures=len(log.all_temperatures) if log else 0,
        problems=tuple(problems),
        photos=pictures.named,
        photos_unnamed=pictures.nameless,
    )


def _changed(path: Path) -> Problem:
    return Problem(
        "the checksum does not fit: the file was damaged, or changed by something else",
        str(path),
        back_to_a_backup(path)
        + "; if you changed it yourself and this is all that is wrong, "
        + CommandText(
            f"“rearlog verify --accept {called(path)}”",
            f"in a terminal: rearlog verify --accept {path.stem}",
        ),
    )


def _repeated_keys(raw: bytes, path: Path) -> list[Problem]:
    """Keys that stand twice in one object, of which a reader sees only the last."""
    problems: list[Problem] = []

    def look(pairs: list[tuple[str, Any]]) -> None:
        times = Counter(name for name, _ in pairs)
        twice = [name for name, count in times.items() if count > 1]
        if twice:
            told = ", ".join(twice)[:80]
            problems.append(Problem(f"{told} stands there more than once", str(path)))

    try:
        json.loads(raw, object_pairs_hook=look)
    except RecursionError:
        problems.append(Problem("it is nested too deeply", str(path)))
    return problems


def _of_redactions(content: Content, path: Path) -> list[Problem]:
    try:
        redactions_in(content.tables)
    except Misfit as error:
        return [Problem(str(error), f"{path}, redactions")]
    return []


def _unfinished(path: Path) -> list[Problem]:
    written = unfinished_redaction(target_of(path))
    if not os.path.lexists(written):
        return []
    told = "a redaction was stopped: what was to go is still in some of the copies"
    return [Problem(told, str(written), "finish the round that is being asked, then verify again")]


def _of_profile(content: Content, check_profile: ProfileCheck) -> list[Problem]:
    cohorts = content.tables.get("cohort", {}).values()
    profiles = [each.get("species") for each in cohorts if isinstance(each, dict)]
    return check_profile(profiles[0], "species profile") if profiles else []


def _of_log(log: CohortLog, now: datetime) -> list[Problem]:
    cohort = log.cohort
    limit = now.astimezone(cohort.started.tzinfo)
    if cohort.invented:  # a lesson or a plan may lie ahead
        limit = max([limit, cohort.started, *(each.at for each in log.all_observations)])
    problems: list[Problem] = []
    if cohort.started > limit:
        problems.append(Problem("the cohort starts in the future", cohort.name))
    for individual in log.individuals:
        own = problems_of_individual(cohort, individual)
        problems += own
        if not own:
            checks = log.checks[individual.code]
            problems += problems_of(cohort.species, individual, checks, limit)
    for individual in log.withdrawn:
        problems += problems_of_individual(cohort, individual)
    for record in log.temperatures:
        problems += problems_of_temperature(record)
    return problems + contradictions(log.temperatures)
