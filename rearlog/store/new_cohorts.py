"""Whole logs as new cohort files: all of them, or none."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from rearlog.disk.writing import reason, sync_folder
from rearlog.records.errors import Problem, StoreError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog
from rearlog.store.cohort_file import CohortFile


def create_cohorts(folder: Path, logs: Sequence[CohortLog], now: datetime) -> list[Path]:
    """Write each log into a new file, named after its cohort, and return the paths.

    Their records count as entered `now`. Raises UsageError where a file is there already,
    RecordError or StoreError where a log cannot be written; then no file is there.
    """
    if not folder.is_dir():
        raise UsageError(f"there is no folder {folder}")
    targets = [folder / f"{log.cohort.name}.json" for log in logs]
    taken = [path for path in targets if path.exists()]
    if taken:
        remedy = "choose another folder, or move it away"
        raise UsageError(Problem(f"{path} exists already", remedy=remedy) for path in taken)
    try:
        with tempfile.TemporaryDirectory(dir=folder, prefix=".new-cohorts.") as beside:
            _put([_written(Path(beside), log, now) for log in logs], targets)
        sync_folder(folder)
    except OSError as error:
        raise StoreError(f"{folder} cannot be written to: {reason(error)}") from error
    return targets


def _put(written: Sequence[Path], targets: Sequence[Path]) -> None:
    placed: list[Path] = []
    try:
        for new, path in zip(written, targets, strict=True):
            os.rename(new, path)
            placed.append(path)
    except OSError:
        for path in placed:
            path.unlink()
        raise


def _written(folder: Path, log: CohortLog, now: datetime) -> Path:
    file = CohortFile(folder / f"{log.cohort.name}.json")
    file.create(log.cohort, log.individuals)
    if log.all_observations:
        file.record([telling(log.all_observations)], now)
    if log.all_temperatures:
        file.add_temperatures(log.all_temperatures, now)
    return file.path
