"""Observations that come in as files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from rearlog.cli.options import cohort_argument, notice, quiet_option
from rearlog.records import times
from rearlog.store.cohort_file import CohortFile

files_argument = click.argument(
    "files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path)
)


@click.command("import")
@cohort_argument
@files_argument
@click.option("--ignore-extra", is_flag=True, help="Pass over columns that are not known.")
@click.option("--dry-run", is_flag=True, help="Check the files, and record nothing.")
@quiet_option
def import_command(
    cohort: Path, files: tuple[Path, ...], ignore_extra: bool, dry_run: bool
) -> None:
    """Import observations from tidy CSV files: all of them, or nothing.

    Every bad cell is listed at once. What the log has already is passed over, so importing a file
    twice adds nothing twice.

    \b
    rearlog import room observations.csv
    rearlog import room week12.csv week13.csv --dry-run
    """
    from rearlog.exchange import observations_csv
    from rearlog.exchange.incoming import new_checks

    file = CohortFile(cohort)
    log = file.read()
    now = times.now(log.cohort.zone)
    added, known = [], 0
    for path in files:
        incoming = observations_csv.read(path, log, now, ignore_extra=ignore_extra)
        new, already = new_checks(log, incoming, now)
        added += new
        known += already
        log = replace(log, all_observations=(*log.all_observations, *new))
    passed = f"; {known} were in the log already" if known else ""
    if dry_run:
        notice(f"Nothing recorded: {len(added)} checks would be{passed}.")
        return
    if added:
        file.add_observations(added, now)
    notice(f"Imported {len(added)} checks from {', '.join(map(str, files))}{passed}.")
