"""Whole logs as new cohort files: all of them, or none."""

from __future__ import annotations

import contextlib
import os
from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from rearlog.disk.writing import reason
from rearlog.records.errors import Problem, StoreError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.labels import labels
from rearlog.records.log import CohortLog
from rearlog.records.starting import as_name
from rearlog.store.arriving import arrive, drafting
from rearlog.store.cohort_file import CohortFile
from rearlog.store.durable import is_there
from rearlog.store.locking import lock


def create_cohorts(folder: Path, logs: Sequence[CohortLog], now: datetime) -> list[Path]:
    """Write each log into a new file, named after its cohort (and, where several are called alike,
    its site), and return the paths.

    Their records count as entered `now`. Raises UsageError where a file is there already,
    RecordError or StoreError where a log cannot be written; then no file is there.
    """
    if not os.path.isdir(folder):
        raise UsageError(f"there is no folder {folder}")
    targets = [folder / f"{stem}.json" for stem in _stems(logs)]
    try:
        with drafting(folder) as draft, contextlib.ExitStack() as locks:
            for path in sorted(targets):
                locks.enter_context(lock(path))
            _refuse_taken(targets)
            for target, log in zip(targets, logs, strict=True):
                _write(draft / target.name, log, now)
            arrive(folder)
    except FileExistsError as error:
        raise StoreError(f"a cohort file exists already: {error}; nothing changed") from error
    except OSError as error:
        raise StoreError(f"{folder} cannot be written to: {reason(error)}") from error
    return targets


def _refuse_taken(targets: Sequence[Path]) -> None:
    taken = [path for path in targets if is_there(path)]
    if taken:
        remedy = "choose another folder, or move it away"
        raise UsageError(Problem(f"{path} exists already", remedy=remedy) for path in taken)


def _stems(logs: Sequence[CohortLog]) -> list[str]:
    """The names of the files: each what its cohort is called, as a name can be written."""
    cohorts = [log.cohort for log in logs]
    found = [as_name(label) for label in labels(cohorts)]
    times = Counter(map(str.casefold, found))
    return [
        f"{stem[:27]}-{each.id}" if times[stem.casefold()] > 1 else stem
        for stem, each in zip(found, cohorts, strict=True)
    ]


def _write(path: Path, log: CohortLog, now: datetime) -> None:
    file = CohortFile(path)
    with file.held(create=True):
        file.create(log.cohort, log.individuals)
        if log.all_observations:
            file.record([telling(log.all_observations)], now)
        if log.all_temperatures:
            file.add_temperatures(log.all_temperatures, now)
