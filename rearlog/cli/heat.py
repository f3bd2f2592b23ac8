"""Degree-days by day and by stage."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from rearlog.cli.answer_options import full_option, heat_options, one_of
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook


@click.command("heat")
@cohorts_argument
@click.option("--daily", is_flag=True, help="Show every day (CSV always does).")
@heat_options
@full_option
@answering
def heat_command(cohorts: tuple[Path, ...], daily: bool, heat: HeatOptions, form: str) -> None:
    """How many degree-days there were, and what each stage needed.

    \b
    rearlog heat room --daily
    rearlog heat room --method double-sine --lower 10 --upper 33 --cutoff vertical
    """
    from rearlog.present.answers import heat_tables  # start-up time
    from rearlog.sentences.stage_heat import lead

    one = one_of([Notebook(path, heat) for path in cohorts], or_by=False)
    show(one.heat(), form, partial(heat_tables, daily=daily), "daily", lead)
