"""A cohort file opened to be read as it stands; nothing here needs what writes it."""

from __future__ import annotations

import os
from pathlib import Path

from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.starting import NAME
from rearlog.settings import usual
from rearlog.store.arriving import finish
from rearlog.store.durable import read_bytes
from rearlog.store.layout import Content, decode, is_own, no_collection, refuse_too_many
from rearlog.store.reading import log_in


def find(cohort: str) -> Path:
    """The file of a cohort given as a path (with or without .json), or as a name.

    A name stands for a file in the usual folder (see `settings.usual`).
    """
    if cohort.endswith(".json"):
        return Path(cohort)
    if os.sep in cohort or (os.altsep is not None and os.altsep in cohort):
        return Path(cohort) if os.path.isfile(cohort) else Path(f"{cohort}.json")
    if not NAME.fullmatch(cohort):
        raise UsageError(
            f"“{cohort[:40]}” is not a cohort name", "use letters, digits, - and _, or a path"
        )
    return usual.folder() / f"{cohort}.json"


def opened(path: Path) -> bytes | Content:
    """The file as bytes where it is as this program wrote it, else what it holds.

    Raises StoreError where it cannot be read or trusted.
    """
    if not os.path.lexists(path):
        finish(path.parent)
    content = read_bytes(path)
    if not is_own(content):
        return decode(content, path)
    refuse_too_many(content, path)
    return content


def read_log(path: Path) -> CohortLog:
    """The whole log in a file; raises StoreError where it cannot be read or trusted."""
    with no_collection():
        found = opened(path)
        return log_in(found.tables if isinstance(found, Content) else found, path)
