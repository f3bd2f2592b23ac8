"""Where cohorts are: the files in folders and below them, and packages that were exported."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from rearlog.exchange.bundle import is_archive
from rearlog.exchange.darwin_core import META
from rearlog.exchange.data_package import DESCRIPTOR
from rearlog.gathering.data_set_format import is_data_set
from rearlog.records.errors import Problem, UsageError
from rearlog.store.folder import is_cohort
from rearlog.store.opening import meant


def places_in(asked: Iterable[Path]) -> list[Path]:
    """The cohort files and exported packages that were asked for, or lie in folders, each once.

    Folders are gone through with all that are in them, but those whose name begins with a dot. A
    folder that is a package or a data set counts as that. What is named itself is taken as it is.
    Raises UsageError where something named is not there.
    """
    found: dict[Path, None] = {}
    missing = []
    for path in asked:
        if path.is_dir():
            found |= dict.fromkeys(_below(path))
        elif path.is_file():
            found[path] = None
        else:
            missing.append(Problem("there is no such file or folder", str(path), meant(path)))
    if missing:
        raise UsageError(missing)
    once = {os.path.realpath(path): path for path in reversed(found)}
    return sorted(once.values())


def is_package(folder: Path) -> bool:
    """Whether a folder is a data package or a Darwin Core archive."""
    return any((folder / name).is_file() for name in (DESCRIPTOR, META))


def _below(folder: Path) -> Iterator[Path]:
    for place, folders, files in os.walk(folder):
        here = Path(place)
        if is_package(here) or is_data_set(here):
            folders.clear()
            yield here
            continue
        folders[:] = sorted(each for each in folders if not each.startswith("."))
        for name in sorted(files):
            path = here / name
            if not name.startswith(".") and (
                is_archive(path) or (path.suffix == ".json" and is_cohort(path))
            ):
                yield path
