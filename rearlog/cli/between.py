"""The answers between cohorts: do they differ, and what do their temperatures say."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answers import heat_options, span_options
from rearlog.cli.options import answering, cohorts_argument, notice
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook, compare, thermal
from rearlog.present.flat import flat_comparison, flat_thermal


@click.command("compare")
@cohorts_argument
@span_options
@heat_options
@answering
def compare_command(
    cohorts: tuple[Path, ...],
    first: str | None,
    until: str | None,
    heat: HeatOptions,
    form: str,
) -> None:
    """Whether cohorts differ: how long stages took, the heat they needed, how many lived.

    \b
    rearlog compare cool warm
    rearlog compare cool room warm --from L1 --to pupa
    """
    from rearlog.present.between import comparison_tables  # start-up time
    from rearlog.sentences.compare import notices

    result = compare([Notebook(path, heat) for path in cohorts], first, until)
    for text in notices(result):
        notice(f"Note: {text}")
    show(result, form, lambda: comparison_tables(result), flat_comparison(result))


@click.command("thermal")
@cohorts_argument
@click.option("--without", multiple=True, metavar="COHORT", help="Leave a cohort out, by its name.")
@answering
def thermal_command(cohorts: tuple[Path, ...], without: tuple[str, ...], form: str) -> None:
    """Lower threshold and thermal constant from cohorts at different temperatures.

    \b
    rearlog thermal cool room warm
    rearlog thermal t15 t18 t21 t25 t30 t33 --without t33
    """
    from rearlog.present.between import thermal_tables  # start-up time
    from rearlog.sentences.thermal import notices

    result = thermal([Notebook(path) for path in cohorts], without)
    for text in notices(result):
        notice(f"Note: {text}")
    show(result, form, lambda: thermal_tables(result), flat_thermal(result))
