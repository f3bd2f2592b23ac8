"""More individuals of a cohort."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import stages
from rearlog.cli.options import (
    cohort_argument,
    notice,
    on_option,
    quiet_option,
)
from rearlog.records import times
from rearlog.records.entries import expand, shortened
from rearlog.records.errors import UsageError
from rearlog.records.log import Individual
from rearlog.records.typed_words import CODE, RESERVED
from rearlog.records.wording import stamp
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
@quiet_option
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
    entered = times.read_moment(on or "today", header.zone, header.check_time, now)
    if entered > now:
        raise UsageError(f"{on} is in the future")
    if entered < header.started:
        raise UsageError(f"the cohort started only at {stamp(header.started)}")
    entry_stage = header.species.code_of(stage or header.species.codes[0])
    named = expand(",".join(codes))
    wrong = [code for code in named if not CODE.fullmatch(code) or code.lower() in RESERVED]
    if wrong:
        raise UsageError(
            f"“{shortened(wrong[0])}” cannot be a code", "use up to 24 letters, digits and _"
        )
    file.add_individuals(
        [
            Individual(code, entered, entry_stage, container=container, clutch=clutch, note=note)
            for code in named
        ]
    )
    shown = ", ".join(named[:50]) + (" …" if len(named) > 50 else "")
    notice(f"Added {len(named)} × {entry_stage}: {shown}")
