"""What cohorts at different temperatures say of the threshold."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import answering, cohorts_argument, notice
from rearlog.cli.present import show
from rearlog.notebook import Notebook, thermal
from rearlog.present.flat import flat_thermal


@click.command("thermal")
@cohorts_argument
@click.option("--without", multiple=True, metavar="COHORT", help="Leave a cohort out, by its name.")
@full_option
@answering
def thermal_command(cohorts: tuple[Path, ...], without: tuple[str, ...], form: str) -> None:
    """Lower threshold and thermal constant from cohorts at different temperatures.

    \b
    rearlog thermal cool room warm
    rearlog thermal t15 t18 t21 t25 t30 t33 --without t33
    """
    from rearlog.present.between import thermal_tables  # start-up time
    from rearlog.sentences.thermal import lead, notices

    result = thermal([Notebook(path) for path in cohorts], without)
    for text in notices(result):
        notice(f"Note: {text}")
    rows = flat_thermal(result)
    show(result, form, lambda: thermal_tables(result), rows, lambda: lead(result))
