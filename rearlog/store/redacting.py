"""Redacting a cohort: its file, all the copies of it that are kept, and the round being asked.

The copies come first and the file last. Whoever is stopped before the end has still the words in
the file, and the same call again finishes what was begun.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import msgspec

from rearlog.disk.writing import put, reason, sync_folder
from rearlog.records.errors import StoreError
from rearlog.store import backups
from rearlog.store.draft import DraftFile
from rearlog.store.durable import HIDDEN, read_bytes, target_of
from rearlog.store.layout import Document, encode, inspect
from rearlog.store.redaction import Choice, Redaction, Wanted, choice, cleared, redacted
from rearlog.store.redaction import redactions_in as marks_in
from rearlog.store.storage import CohortStorage


@dataclass(frozen=True, slots=True)
class Redacted:
    """How many fields were taken out of the file, of how many backups and out of a round that is
    being asked, and how many backups went because they cannot be looked through."""

    fields: int
    backups: int
    removed: int
    asked: int

    @property
    def anything(self) -> bool:
        """Whether anything was found."""
        return bool(self.fields or self.backups or self.asked)


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
    with draft.held(), storage.transaction():
        tables = storage.read()
        goes = choice(wanted, tables)
        after, fields = redacted(tables, goes, now, by)
        try:
            if not dry_run:
                _discard_unfinished(target, draft.path)
                backups.settle(target)
            found = list(_from_backups(target, goes, now, by, dry_run))
            asked = _from_draft(draft.path, goes, dry_run)
        except OSError as error:
            told = f"{target} is not redacted yet: {reason(error)}"
            raise StoreError(told, "the same command again goes on") from error
        if fields and not dry_run:
            storage.rewrite(after)
    return Redacted(fields, found.count(True), found.count(False), asked)


def _discard_unfinished(target: Path, draft: Path) -> None:
    """Remove what a writer that was stopped has left."""
    for name in (f"{target.name}.new", f"{draft.name}.new"):
        (target.parent / HIDDEN / name).unlink(missing_ok=True)
    sync_folder(target.parent / HIDDEN)


def _from_backups(
    target: Path, goes: Choice, now: datetime, by: str | None, dry_run: bool
) -> Iterator[bool]:
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
        tables, fields = redacted(content.tables, goes, now, by)
        if fields:
            if not dry_run:
                _rewrite(backup.path, encode(tables), target)
            yield True


def _rewrite(copy: Path, content: bytes, target: Path) -> None:
    known = os.stat(copy)
    put(content, copy, copy.with_name(f"{target.name}.new"), like=copy)
    os.utime(copy, ns=(known.st_atime_ns, known.st_mtime_ns))  # the day that it is the copy of


def _from_draft(path: Path, goes: Choice, dry_run: bool) -> int:
    """Redact the round that is being asked; how many fields went."""
    if not path.exists():
        return 0
    try:
        content = msgspec.json.decode(read_bytes(path))
        answers = [each for each in content["answers"].values() if each is not None]
        count = sum(len(list(cleared("observations", each, goes))) for each in answers)
        count += _without_observer(content, goes)
    except (msgspec.MsgspecError, AttributeError, KeyError, TypeError, ValueError) as error:
        told = f"the round in {path} cannot be read: {error!r}"
        raise StoreError(told, "remove that file, then redact again") from None
    if count and not dry_run:
        put(msgspec.json.encode(content), path, path.with_name(f"{path.name}.new"), like=path)
    return count


def _without_observer(content: Document, goes: Choice) -> int:
    by = content["by"]
    if by is None or not goes("observations", {}, "by", by):
        return 0
    content["by"] = None
    return 1
