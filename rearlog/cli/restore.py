"""Going back to a backup."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import answering, cohort_argument, notice
from rearlog.cli.present import show
from rearlog.cli.writing import tell_as_json
from rearlog.present.safekeeping import backup_tables
from rearlog.store.restoring import restore, states_of


@click.command("restore")
@cohort_argument
@click.argument("number", type=click.IntRange(1), required=False)
@answering
def restore_command(cohort: Path, number: int | None, form: str) -> None:
    """List the backups of a cohort, or bring one back by its number.

    Before each change the file as it was is kept: the newest few, and the last of each day. The
    file that a backup takes the place of becomes a backup itself; of these too, the newest few and
    the last of each day stay. Pictures beside the file stay as they are.

    \b
    rearlog restore room
    rearlog restore room 3
    """
    if number is not None:
        if form == "json":
            tell_as_json(lambda: _bring_back(cohort, number))
        else:
            _bring_back(cohort, number)
        return
    result = states_of(cohort)
    if not result.backups:
        notice(
            f"There are no backups of {cohort}: they begin with its second change. If it is "
            "damaged, only a copy from elsewhere can take its place."
        )
    one = click.get_current_context().meta["rearlog.table"]
    if result.backups or form != "table" or one is not None:
        show(result, form, backup_tables, "backups")


def _bring_back(cohort: Path, number: int) -> None:
    state = restore(cohort, number)
    notice(
        f"{cohort} is again as it was on {state.written:%Y-%m-%d %H:%M:%S}, "
        f"with {state.observations} checks; the newer file is kept as a backup."
    )
