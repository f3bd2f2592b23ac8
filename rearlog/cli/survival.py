"""How many lived, how long."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import span_options
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook


@click.command("survival")
@cohort_argument
@span_options
@click.option("--kaplan-meier", is_flag=True, help="Survival by day as well; in CSV instead.")
@answering
def survival_command(
    cohort: Path, first: str | None, until: str | None, kaplan_meier: bool, form: str
) -> None:
    """How many lived, how long, and what killed the rest.

    \b
    rearlog survival room
    rearlog survival room --from L1 --to pupa --kaplan-meier
    """
    from rearlog.present.answers import survival_tables  # start-up time

    result = Notebook(cohort).survival(first, until)
    rows = result.kaplan_meier if kaplan_meier else result.life_table
    show(result, form, lambda: survival_tables(result, kaplan_meier=kaplan_meier), rows)
