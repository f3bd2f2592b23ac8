"""The summaries of the cohorts in one file or package: what is done for each place apart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from rearlog.analysis.pooling.cohort_summary import (
    CohortSummary,
    cohort_summary,
    still_to_come,
)
from rearlog.exchange import darwin_core, data_package
from rearlog.exchange.bundle import is_archive, opened
from rearlog.notebook.cohort import Notebook
from rearlog.records.clock import with_offset
from rearlog.records.errors import ImportRefused, Problem, RearlogError
from rearlog.records.log import CohortLog


def summaries_in(path: Path, now: datetime) -> tuple[CohortSummary, ...]:
    """The summaries of all cohorts in a cohort file, an archive, or a folder that is a package.

    What is to come counts from `now`. Raises RearlogError where it cannot be read.
    """
    if is_archive(path) or path.is_dir():
        notebooks = (Notebook(path).with_log(log) for log in _exported(path, now))
        return tuple(summary_of(each, now) for each in notebooks)
    return (summary_of(Notebook(path), now),)


def told(path: Path, now: datetime) -> tuple[CohortSummary, ...] | str:
    """The same, or in words why it cannot be read."""
    try:
        return summaries_in(path, now)
    except RearlogError as error:
        return str(error.problems[0])


def summary_of(notebook: Notebook, now: datetime) -> CohortSummary:
    """The summary of one cohort."""
    there = with_offset(now.astimezone(ZoneInfo(notebook.log.cohort.zone)))
    goes_on = still_to_come(notebook.event_history)
    return cohort_summary(
        notebook.log,
        notebook.event_history,
        notebook.warmth_curve,
        notebook.completeness(),
        notebook.in_doubt,
        notebook.forecast(as_of=there) if goes_on else None,
    )


def _exported(path: Path, now: datetime) -> Iterator[CohortLog]:
    from rearlog.species.loader import read as read_profile  # seldom: most are cohort files

    with opened(path) as unpacked:
        if (unpacked / data_package.DESCRIPTOR).is_file():
            yield from data_package.read_data_package(unpacked, read_profile, now)
        elif (unpacked / darwin_core.META).is_file():
            yield from darwin_core.read_darwin_core(unpacked, read_profile, now)
        else:
            names = f"{data_package.DESCRIPTOR} nor {darwin_core.META}"
            raise ImportRefused(Problem(f"there is neither {names} in it", str(path)))
