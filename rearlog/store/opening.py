"""A cohort file opened to be read as it stands; nothing here needs what writes it."""

from __future__ import annotations

import os
from pathlib import Path

from rearlog.records.errors import StoreError, UsageError
from rearlog.records.log import CohortLog
from rearlog.records.suggestions import did_you_mean
from rearlog.records.values import LABEL
from rearlog.settings import usual
from rearlog.store.arriving import finish
from rearlog.store.durable import read_bytes, refuse_no_file
from rearlog.store.layout import Content, decode, is_own, no_collection, refuse_too_many
from rearlog.store.reading import log_in


def find(cohort: str) -> Path:
    """The file of a cohort that is there, given as a path (with or without .json), or as a name.

    A name stands for a file in the usual folder (see `settings.usual`), or else for the one cohort
    in it that has this label. Where there is neither it is the path that such a file would have.
    """
    path = place_of(cohort)
    if cohort == path.stem and not os.path.lexists(path):
        called_so = labelled(cohort, path.parent)
        return called_so[0] if len(called_so) == 1 else path
    return path


def place_of(cohort: str) -> Path:
    """The path that the file of a cohort has, or would have, given as a path or as a name."""
    if cohort.endswith(".json"):
        return Path(cohort)
    if os.sep in cohort or (os.altsep is not None and os.altsep in cohort):
        return Path(cohort) if os.path.isfile(cohort) else Path(f"{cohort}.json")
    if not LABEL.fullmatch(cohort):
        raise UsageError(
            f"“{cohort[:40]}” is not a cohort name", "use letters, digits, - and _, or a path"
        )
    return usual.folder() / f"{cohort}.json"


def labelled(label: str, folder: Path) -> list[Path]:
    """The files of the cohorts in a folder that have this label."""
    from rearlog.store.folder import cohorts_in  # start-up time

    return [path for path in cohorts_in(folder) if _is_called(label, path)]


def _is_called(label: str, path: Path) -> bool:
    try:
        if label.encode() not in path.read_bytes():  # far faster than to read the log
            return False
        return read_log(path).cohort.name == label
    except (OSError, StoreError):
        return False  # whoever asks for it by its file is told what is wrong


def refuse_absent(path: Path) -> None:
    """Raise StoreError where there is no such file, nor one that is still to arrive: with the names
    of those beside it that may be meant."""
    if not os.path.lexists(path):
        finish(path.parent)
    refuse_no_file(path, "" if os.path.lexists(path) else meant(path))


def meant(path: Path) -> str:
    """The names of cohorts beside one that is not there which are close to its name, as a question;
    empty where none is."""
    from rearlog.store.folder import is_cohort  # start-up time

    beside = sorted(each.stem for each in path.parent.glob("*.json") if is_cohort(each))
    return did_you_mean(path.stem, beside)


def opened(path: Path) -> bytes | Content:
    """The file as bytes where it is as this program wrote it, else what it holds.

    Raises StoreError where it cannot be read or trusted.
    """
    refuse_absent(path)
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
