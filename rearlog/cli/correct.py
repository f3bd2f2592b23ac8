"""Saying anew which stage an individual was in."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import individuals, stages
from rearlog.cli.effects import show_effect
from rearlog.cli.options import WHEN, because_option, by_option, cohort_argument, notice, reason_of
from rearlog.cli.writing import writing
from rearlog.notebook import Notebook
from rearlog.present.history import correction_lines
from rearlog.records import times
from rearlog.records.log import Mark
from rearlog.records.striking import struck_out
from rearlog.records.wording import counted
from rearlog.store.cohort_file import CohortFile
from rearlog.store.correcting import correct


@click.command("correct")
@cohort_argument
@click.argument("individual", shell_complete=individuals)
@click.argument("stage", shell_complete=stages)
@click.option(
    "--from", "first", type=WHEN, metavar="DATE", required=True, help="The first day to correct."
)
@click.option("--to", "last", type=WHEN, metavar="DATE", help="The last one (default: the first).")
@because_option
@click.option("--dry-run", is_flag=True, help="Show what it would change, and change nothing.")
@by_option
@writing
def correct_command(
    cohort: Path,
    individual: str,
    stage: str,
    first: str,
    last: str | None,
    because: str | None,
    dry_run: bool,
    by: str | None,
) -> None:
    """Say anew which stage an individual was in: old records are struck out, new ones written.

    Looks that said no change follow by themselves; what was measured is kept.

    \b
    rearlog correct room 7 egg --from 2026-03-11 --because "it was no L1 yet"
    rearlog correct room 7 egg --from 2026-03-11 --to 2026-03-12 --dry-run
    """
    reason = reason_of(because, asked=not dry_run)
    file = CohortFile(cohort)
    now = times.now(file.outline(()).cohort.zone)
    begin = times.read_date(first, now.date())
    end = begin if last is None else times.read_date(last, now.date())
    mark = Mark(now, reason, by)
    found = correct(file, individual, stage, (begin, end), mark, now, dry_run=dry_run)
    for line in correction_lines(found.old, found.new):
        click.echo(line)
    told = counted(len(found.old), "record")
    if dry_run:
        notebook = Notebook(cohort)
        numbers = [each.number for each in found.old if each.number is not None]
        show_effect(notebook, struck_out(notebook.log, numbers, [], mark).with_checks(found.new))
        notice(f"Nothing changed: {told} would be.")
    else:
        notice(f"Corrected {told}; history still shows the old ones.")
