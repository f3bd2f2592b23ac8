"""Whether those that a cohort is said to come from are there, in the files beside it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rearlog.records.errors import Problem, StoreError, UsageError
from rearlog.records.factors import origin
from rearlog.store.folder import cohorts_in
from rearlog.store.opening import read_log

MOST_NAMED = 12
"""Of more individuals the first and the last alone are named."""


def origins_without_file(folder: Path, origins: Iterable[str]) -> tuple[str, ...]:
    """The cohorts among origins that have no file in the folder.

    Raises UsageError, with all mistakes, for individuals that a cohort which has one does not have;
    StoreError where the file cannot be read.
    """
    missing, problems = [], []
    for name, codes in map(origin, origins):
        path = folder / f"{name}.json"
        if not path.is_file():
            missing.append(name)
            continue
        if not codes:
            continue
        known = [each.code for each in read_log(path).individuals]
        strangers = [code for code in codes if code not in known]
        if strangers:
            message = f"{name} has no individual {', '.join(strangers)}"
            problems.append(Problem(message, "", f"it has {_named(known)}"))
    if problems:
        raise UsageError(problems)
    return tuple(missing)


def naming(folder: Path, name: str) -> list[Path]:
    """The files of the cohorts in a folder that say they come from one of this name."""
    found = []
    for path in cohorts_in(folder):
        try:
            origins = read_log(path).cohort.origins
        except StoreError:  # “rearlog verify” tells what is the matter with it
            continue
        if name in {origin(each).cohort for each in origins}:
            found.append(path)
    return found


def _named(codes: list[str]) -> str:
    if len(codes) > MOST_NAMED:
        return f"{codes[0]} to {codes[-1]}, {len(codes)} in all"
    return ", ".join(codes)
