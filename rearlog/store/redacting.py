"""Redacting a cohort: its file, all the copies of it that are kept, and the round being asked.

What is to go is written down before anything goes; the copies come first and the file last. So
whoever changes or verifies the file next finishes what was begun and stopped.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from rearlog.disk.notices import tell
from rearlog.disk.writing import put, reason, sync_folder
from rearlog.records.errors import StoreError
from rearlog.records.values import Moment
from rearlog.store import backups, photos
from rearlog.store.arriving import clear
from rearlog.store.draft import DraftFile
from rearlog.store.durable import HIDDEN, read_bytes, target_of, unfinished_redaction
from rearlog.store.layout import Document, Tables, encode, inspect
from rearlog.store.redaction import (
    Choice,
    Observers,
    Redaction,
    Wanted,
    choice,
    looks,
    nameless,
    observers_gone,
    redacted,
    taken_out,
)
from rearlog.store.redaction import redactions_in as marks_in
from rearlog.store.storage import CohortStorage


class Redacted(Struct, frozen=True):
    """How many fields were taken out of the file, of how many backups and out of a round that is
    being asked, how many backups went because they cannot be looked through, and how many pictures
    went."""

    fields: int
    backups: int
    removed: int
    asked: int
    pictures: int = 0

    @property
    def anything(self) -> bool:
        """Whether anything was found."""
        return bool(self.fields or self.backups or self.asked)


class _Begun(msgspec.Struct, forbid_unknown_fields=True):
    """A redaction as it is written down until it is done."""

    at: Moment
    fields: list[str]
    saying: str | None
    among: list[tuple[str, str]] | None
    by: str | None

    @property
    def goes(self) -> Choice:
        """What is to go."""
        return choice(Wanted(tuple(self.fields), self.saying), self.among)


_BEGUN = msgspec.json.Decoder(_Begun)


def redactions_of(path: Path) -> list[Redaction]:
    """What was redacted in a cohort file, and when."""
    return marks_in(CohortStorage(path).read())


def redact(
    path: Path, wanted: Wanted, now: datetime, by: str | None, *, dry_run: bool = False
) -> Redacted:
    """Take out what is wanted, everywhere, with a mark of it.

    No copy of the file as it was stays. Raises RecordError for records that are not there,
    StoreError where somebody is in the middle of a round, or something cannot be written.
    """
    storage, draft, target = CohortStorage(path), DraftFile(path), target_of(path)
    if not dry_run:
        finish_stopped(path)
        _clear(target)
    with draft.held():
        with storage.transaction():
            among = looks(wanted, storage.read())
            begun = _Begun(now, [*wanted.fields], wanted.saying, among, by)
            if not dry_run:
                _write_down(begun, target)
            found = _take_out(begun, storage, draft.path, target, dry_run)
        if not dry_run:
            _strike_off(target)
    return found


def finish_stopped(path: Path) -> None:
    """Finish a redaction that was stopped; where that cannot be done now, it is told."""
    storage, draft, target = CohortStorage(path), DraftFile(path), target_of(path)
    written = unfinished_redaction(target)
    if not os.path.lexists(written):
        return
    try:
        _clear(target)
        with draft.held():
            with storage.transaction():
                if os.path.lexists(written):  # nobody else has finished it meanwhile
                    begun = _BEGUN.decode(read_bytes(written))
                    _take_out(begun, storage, draft.path, target, dry_run=False)
            _strike_off(target)
    except (msgspec.MsgspecError, StoreError, ValueError) as error:
        tell(f"a redaction of {target} was stopped, and cannot be finished yet: {error}")
    else:
        tell(f"a redaction of {target} was stopped, and is finished now")


def _clear(target: Path) -> None:
    """Throw away new cohorts that a program that was stopped has left half made."""
    try:
        clear(target.parent)
    except OSError as error:
        raise StoreError(f"{target} is not redacted yet: {reason(error)}") from error


def _write_down(begun: _Begun, target: Path) -> None:
    """Let whoever changes or verifies the file next know what was begun."""
    try:
        content = msgspec.json.encode(begun)
        written = unfinished_redaction(target)
        put(content, written, written.with_name(f"{target.name}.new"), like=target)
    except (msgspec.MsgspecError, TypeError, OSError) as error:
        raise StoreError(f"{target} is not redacted yet: {reason(error)}") from error


def _strike_off(target: Path) -> None:
    """Forget what was begun: it is done."""
    written = unfinished_redaction(target)
    try:
        written.unlink(missing_ok=True)
        sync_folder(written.parent)
    except OSError as error:
        told = f"{target} is redacted, but {written} cannot be removed: {reason(error)}"
        raise StoreError(told, "remove it: it says what was redacted") from error


def _take_out(
    begun: _Begun, storage: CohortStorage, draft: Path, target: Path, dry_run: bool
) -> Redacted:
    """Redact everything; the caller holds the locks of the file and of the round."""
    goes, tables = begun.goes, storage.read()
    others = observers_gone(tables)
    after, fields = redacted(tables, goes, begun.at, begun.by, others)
    try:
        if not dry_run:
            _discard_unfinished(target, draft)
            backups.settle(target)
        pictures = _pictures_gone(tables, target, begun)
        if not dry_run:  # before the looks, by which they are found
            photos.remove(target, pictures)
        found = list(_from_backups(target, begun, dry_run))
        asked = _from_draft(draft, goes, others, dry_run)
    except OSError as error:
        told = f"{target} is not redacted yet: {reason(error)}"
        raise StoreError(told, "the same command again goes on") from error
    if fields and not dry_run:
        storage.rewrite(after)
    return Redacted(fields, found.count(True), found.count(False), asked, len(pictures))


def _discard_unfinished(target: Path, draft: Path) -> None:
    """Remove what a writer that was stopped has left."""
    for name in (f"{target.name}.new", f"{draft.name}.new"):
        (target.parent / HIDDEN / name).unlink(missing_ok=True)
    sync_folder(target.parent / HIDDEN)


def _pictures_gone(tables: Tables, target: Path, begun: _Begun) -> set[str]:
    """The pictures that only looks name from which the picture is to go."""
    if "photo" not in begun.fields:
        return set()
    going: set[str] = set()
    staying: set[str] = set()
    for each in (tables, *_in_backups(target)):
        for record in each.get("observations", {}).values():
            if isinstance(name := record.get("photo"), str):
                goes = begun.goes("observations", record, "photo", name)
                (going if goes else staying).add(name)
    return going - staying


def _in_backups(target: Path) -> Iterator[Tables]:
    """The tables of the backups that can be read."""
    for backup in backups.backups_of(target):
        with contextlib.suppress(StoreError):
            yield inspect(read_bytes(backup.path), backup.path).tables


def _from_backups(target: Path, begun: _Begun, dry_run: bool) -> Iterator[bool]:
    """For each backup that is changed True, for each that is removed False.

    One whose checksum does not fit cannot be gone back to, and may hold anything: it goes.
    """
    for backup in backups.backups_of(target):
        try:
            content = inspect(read_bytes(backup.path), backup.path)
        except StoreError:
            content = None
        if content is None or not content.intact:
            if not dry_run:
                backup.path.unlink()
                sync_folder(backup.path.parent)
            yield False
            continue
        others = observers_gone(content.tables)
        tables, fields = redacted(content.tables, begun.goes, begun.at, begun.by, others)
        if fields:
            if not dry_run:
                _rewrite(backup.path, encode(tables), target)
            yield True


def _rewrite(copy: Path, content: bytes, target: Path) -> None:
    known = os.stat(copy)
    put(content, copy, copy.with_name(f"{target.name}.new"), like=copy)
    os.utime(copy, ns=(known.st_atime_ns, known.st_mtime_ns))  # the day that it is the copy of


def _from_draft(path: Path, goes: Choice, others: Observers, dry_run: bool) -> int:
    """Redact the round that is being asked; how many fields went."""
    if not path.exists():
        return 0
    try:
        content = msgspec.json.decode(read_bytes(path))
        answers = [each for each in content["answers"].values() if each is not None]
        count = sum(len(taken_out("observations", each, goes, others)) for each in answers)
        count += _without_observer(content, goes, others)
    except (msgspec.MsgspecError, AttributeError, KeyError, TypeError, ValueError) as error:
        told = f"the round in {path} cannot be read: {error!r}"
        raise StoreError(told, "remove that file, then redact again") from None
    if count and not dry_run:
        put(msgspec.json.encode(content), path, path.with_name(f"{path.name}.new"), like=path)
    return count


def _without_observer(content: Document, goes: Choice, others: Observers) -> int:
    by = content["by"]
    if by is None or by in others.values() or not goes("observations", {}, "by", by):
        return 0
    content["by"] = nameless(by, others)
    return 1
