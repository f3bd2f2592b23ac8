"""Uniting a cohort with a copy of it."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import CohortName, cohort_argument, notice
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.wording import counted
from rearlog.store.cohort_file import CohortFile


@click.command("merge")
@cohort_argument
@click.argument("copy", type=CohortName(), metavar="OTHER")
@writing
def merge_command(cohort: Path, copy: Path) -> None:
    """Unite a cohort with a copy of its file that was written to apart, as in a synced folder.

    An entry that both have is there once, what only OTHER has is added, and what OTHER has struck
    out is struck out. Where the two contradict each other, everything is listed and nothing is
    written. OTHER stays as it is.

    \b
    rearlog merge room "room (copy from the lab).json"
    rearlog merge room usb/room.json
    """
    if _one_file(copy, cohort):
        raise UsageError(f"{copy} is the cohort itself", "give the path of its copy")
    brought = CohortFile(cohort).merge(copy, times.now("UTC"))
    struck, back = brought.marked
    notice(
        f"From {copy}: {counted(len(brought.individuals), 'individual')}, "
        f"{counted(len(brought.observations.added), 'check')} and "
        f"{counted(len(brought.temperatures.added), 'temperature record')} added; "
        f"{counted(struck, 'record')} struck out"
        + (f", {counted(back, 'record')} taken back." if back else ".")
    )
    for field, value in brought.others.items():
        what = "label" if field == "name" else field
        notice(f"Note: the {what} stays as it is here; the copy says {value}")


def _one_file(copy: Path, cohort: Path) -> bool:
    try:
        return copy.samefile(cohort)
    except (OSError, ValueError):
        return False  # reading them will tell what is the matter
