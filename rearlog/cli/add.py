"""More individuals of a cohort."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import stages
from rearlog.cli.options import cohort_argument, notice, on_option
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.adding import more_individuals
from rearlog.store.cohort_file import CohortFile


@click.command("add")
@cohort_argument
@click.argument("codes", nargs=-1, required=True, metavar="CODE...")
@click.option(
    "--stage", shell_complete=stages, help="The stage in which they enter (default: the first)."
)
@on_option
@click.option("--container", help="The cup, box or cage.")
@click.option("--clutch", help="The batch of eggs they come from.")
@click.option("--note", help="Anything else.")
@writing
def add_command(
    cohort: Path,
    codes: tuple[str, ...],
    stage: str | None,
    on: str | None,
    container: str | None,
    clutch: str | None,
    note: str | None,
) -> None:
    """Add individuals by their codes; ranges such as 25-30 count through.

    \b
    rearlog add room 25-30 --on 2026-03-10
    rearlog add room B01-B04 --stage L1 --container "tray 2"
    """
    file = CohortFile(cohort)
    header = file.outline(()).cohort
    now = times.now(header.zone)
    added = more_individuals(
        header,
        now,
        ",".join(codes),
        stage=stage,
        on=on,
        container=container,
        clutch=clutch,
        note=note,
    )
    file.add_individuals(added)
    named = [each.code for each in added]
    shown = ", ".join(named[:50]) + (" …" if len(named) > 50 else "")
    notice(f"Added {len(named)} × {added[0].stage}: {shown}")
