"""Observations that come in as files."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from rearlog.cli.options import (
    cohort_argument,
    notice,
    notice_caution,
    notice_doubts,
    strict_option,
)
from rearlog.cli.standard import InputFile
from rearlog.cli.writing import writing
from rearlog.exchange.written_dates import DateOrder
from rearlog.present.imported import imported_words
from rearlog.records import times
from rearlog.records.errors import ImportRefused
from rearlog.store.cohort_file import CohortFile

files_argument = click.argument(
    "files", nargs=-1, required=True, metavar="FILE...", type=InputFile()
)


@click.command("import")
@cohort_argument
@files_argument
@click.option("--ignore-extra", is_flag=True, help="Pass over columns that are not known.")
@click.option(
    "--dates", type=click.Choice(["day-first", "month-first"]), help="How a sheet writes them."
)
@click.option("--dry-run", is_flag=True, help="Check the files, and record nothing.")
@strict_option
@writing
def import_command(
    cohort: Path,
    files: tuple[Path, ...],
    ignore_extra: bool,
    dates: DateOrder | None,
    dry_run: bool,
    strict: bool,
) -> None:
    """Import tidy CSV files of observations or filled check sheets: all of them, or nothing.

    Every bad cell is listed at once. What the log has already is passed over, so importing a file
    twice adds nothing twice. A sheet brings its lowest and highest temperatures with it.

    \b
    rearlog import room observations.csv
    rearlog import room week12.csv week13.csv --dry-run
    """
    from rearlog.exchange.check_files import read  # start-up time

    file = CohortFile(cohort)
    now = times.now(file.outline(()).cohort.zone)
    sources = [
        partial(read, path, now=now, ignore_extra=ignore_extra, dates=dates) for path in files
    ]
    found = file.record(
        sources, now, pass_known=True, dry_run=dry_run, strict=strict, refusal=ImportRefused
    )
    notice_doubts(found.doubts)
    notice(imported_words(found, list(map(str, files)), dry_run=dry_run))
    if not dry_run:
        notice_caution(found.checks)
