"""Is a cohort file sound?"""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import answering, cohorts_argument, notice_in_doubt
from rearlog.cli.present import show
from rearlog.notebook import Notebook
from rearlog.present.safekeeping import Defect, Verifications, defects, verification_tables
from rearlog.records import times
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
    from rearlog.present.flat import flat  # start-up time
    from rearlog.species.loader import check

    now = times.now("UTC")
    look = accept if accepting else verify
    found = tuple(look(each, now, check) for each in cohorts)
    both = zip(cohorts, found, strict=True)
    doubts = [Notebook(path).in_doubt for path, each in both if each.sound]
    result = Verifications(found, tuple(each for some in doubts for each in some))
    show(result, form, verification_tables, lambda found: flat(Defect, defects(found)))
    for some in doubts:
        notice_in_doubt(some)
    ctx.exit(0 if all(each.sound for each in result.cohorts) else 1)
