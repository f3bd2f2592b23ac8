"""The summaries of the cohorts in one file or package: what is done for each place apart."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from rearlog.analysis.pooling.cohort_summary import (
    CohortSummary,
    cohort_summary,
    still_to_come,
)
from rearlog.exchange.bundle import is_archive
from rearlog.exchange.exported import exported_logs
from rearlog.gathering.asked_of_data_set import summaries_of_data_set
from rearlog.gathering.data_set_format import is_data_set
from rearlog.notebook.cohort import Notebook
from rearlog.records.clock import with_offset
from rearlog.records.errors import RearlogError


def summaries_in(path: Path, now: datetime) -> tuple[CohortSummary, ...]:
    """The summaries of all cohorts in a cohort file, an archive, or a folder that is a package.

    What is to come counts from `now`. Raises RearlogError where it cannot be read.
    """
    if is_data_set(path):
        return summaries_of_data_set(path)
    if is_archive(path) or path.is_dir():
        from rearlog.species.loader import read as read_profile  # seldom: most are cohort files

        logs = exported_logs(path, read_profile, now)
        return tuple(summary_of(Notebook(path).with_log(log), now) for log in logs)
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
