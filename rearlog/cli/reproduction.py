"""How many eggs follow each egg."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, known_groups
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook, compare_reproduction, told_apart
from rearlog.records.errors import UsageError

EGGS_AT = {"x": "x", "x+0.5": "x + 0.5"}
"""The age at which eggs count, as it is typed and as results have it."""


@click.command("reproduction")
@cohorts_argument
@click.option(
    "--eggs-at",
    type=click.Choice(list(EGGS_AT)),
    default="x+0.5",
    help="The age at which eggs of the day from age x to x + 1 count as laid (default: x+0.5).",
)
@click.option("--ages", is_flag=True, help="The life table by age as well; in CSV instead.")
@click.option("--stages", is_flag=True, help="That by age and stage as well; in CSV instead.")
@by_option
@full_option
@answering
def reproduction_command(
    cohorts: tuple[Path, ...], eggs_at: str, ages: bool, stages: bool, by: str | None, form: str
) -> None:
    """How many eggs follow each egg, how soon, and how fast numbers grow: life tables.

    Several cohorts are compared. Errors are found by drawing whole lives anew, 10,000 times.

    \b
    rearlog reproduction dock-22
    rearlog reproduction dock-19 dock-22 dock-25
    rearlog reproduction dock-22 --eggs-at x --full
    rearlog reproduction dock-22 --ages --format csv
    rearlog reproduction dock-19 dock-22 dock-25 --by temperature
    """
    from rearlog.analysis.reproduction.euler_lotka import EggAge  # start-up time
    from rearlog.present.reproduction import compared_tables, flat_reproduction, reproduction_tables
    from rearlog.sentences.reproduction import lead

    if ages and stages and form == "csv":
        raise UsageError("--ages and --stages are two lists", "ask for one after the other")
    egg_age = EggAge(EGGS_AT[eggs_at])
    notebooks = told_apart([Notebook(path) for path in cohorts])
    if by is not None:
        notebooks = known_groups(notebooks, by)
    if len(notebooks) == 1:
        show(
            notebooks[0].reproduction(egg_age),
            form,
            partial(reproduction_tables, ages=ages, stages=stages),
            lambda found: flat_reproduction([found], ages=ages, stages=stages),
            lead,
        )
        return
    show(
        compare_reproduction(notebooks, egg_age),
        form,
        partial(compared_tables, ages=ages, stages=stages),
        lambda found: flat_reproduction(found.cohorts, ages=ages, stages=stages),
        lead,
    )
