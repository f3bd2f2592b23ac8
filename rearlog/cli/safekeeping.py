"""Keeping the record safe: is a file sound, go back to a backup, unite two copies."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import (
    CohortName,
    answering,
    cohort_argument,
    cohorts_argument,
    notice,
    notice_doubts,
    quiet_option,
)
from rearlog.cli.present import show
from rearlog.present.safekeeping import (
    Verifications,
    backup_tables,
    defects,
    verification_tables,
)
from rearlog.records import times
from rearlog.records.doubts import all_doubts
from rearlog.records.errors import UsageError
from rearlog.records.wording import counted
from rearlog.store.cohort_file import CohortFile
from rearlog.store.restoring import restore, states_of
from rearlog.store.verification import accept, verify


@click.command("verify")
@cohorts_argument
@click.option("--accept", "accepting", is_flag=True, help="Take over what you changed by hand.")
@answering
@click.pass_context
def verify_command(
    ctx: click.Context, cohorts: tuple[Path, ...], accepting: bool, form: str
) -> None:
    """Check that files are whole and every record keeps the rules. Exit code 1 if one does not.

    A file that you changed by hand no longer fits its checksum. Where that is all that is wrong,
    --accept gives it a new one; the file as it was stays as a backup.

    \b
    rearlog verify room
    rearlog verify room warm cool --format json
    rearlog verify room --accept
    """
    from rearlog.species.loader import check

    now = times.now("UTC")
    look = accept if accepting else verify
    result = Verifications(tuple(look(each, now, check) for each in cohorts))
    show(result, form, lambda: verification_tables(result), defects(result))
    for path, each in zip(cohorts, result.cohorts, strict=True):
        if each.sound:
            notice_doubts(all_doubts(CohortFile(path).read()), each.cohort)
    ctx.exit(0 if all(each.sound for each in result.cohorts) else 1)


@click.command("restore")
@cohort_argument
@click.argument("number", type=click.IntRange(1), required=False)
@answering
def restore_command(cohort: Path, number: int | None, form: str) -> None:
    """List the backups of a cohort, or bring one back by its number.

    Before each change the file as it was is kept: the newest few, and the last of each day. The
    file that a backup takes the place of becomes a backup itself; of these too, the newest few and
    the last of each day stay.

    \b
    rearlog restore room
    rearlog restore room 3
    """
    if number is not None:
        state = restore(cohort, number)
        notice(
            f"{cohort} is again as it was on {state.written:%Y-%m-%d %H:%M:%S}, "
            f"with {state.observations} checks; the newer file is kept as a backup."
        )
        return
    result = states_of(cohort)
    if not result.backups:
        notice(
            f"There are no backups of {cohort}: they begin with its second change. If it is "
            "damaged, only a copy from elsewhere can take its place."
        )
    if result.backups or form != "table":
        show(result, form, lambda: backup_tables(result), result.backups)


@click.command("merge")
@cohort_argument
@click.argument("copy", type=CohortName(), metavar="OTHER")
@quiet_option
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


def _one_file(copy: Path, cohort: Path) -> bool:
    try:
        return copy.samefile(cohort)
    except (OSError, ValueError):
        return False  # reading them will tell what is the matter
