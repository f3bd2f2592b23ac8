"""How many lived, how long."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, one_of, span_options
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook, survival_by, told_apart


@click.command("survival")
@cohorts_argument
@span_options
@click.option("--kaplan-meier", is_flag=True, help="Survival by day as well; in CSV instead.")
@by_option
@full_option
@answering
def survival_command(
    cohorts: tuple[Path, ...],
    first: str | None,
    until: str | None,
    kaplan_meier: bool,
    by: str | None,
    form: str,
) -> None:
    """How many lived, how long, and what killed the rest.

    \b
    rearlog survival room
    rearlog survival room --from L1 --to pupa --kaplan-meier
    rearlog survival room --from adult --by sex
    rearlog survival cool room warm --by food
    """
    from rearlog.present.answers import by_group_tables, survival_tables  # start-up time
    from rearlog.present.flat import flat_by_group
    from rearlog.sentences import survival as survival_words
    from rearlog.sentences import survival_by_group as by_group_words

    notebooks = told_apart([Notebook(path) for path in cohorts])
    if by is not None:
        show(
            survival_by(notebooks, by, first, until),
            form,
            partial(by_group_tables, kaplan_meier=kaplan_meier),
            partial(flat_by_group, kaplan_meier=kaplan_meier),
            by_group_words.lead,
        )
        return
    show(
        one_of(notebooks).survival(first, until),
        form,
        partial(survival_tables, kaplan_meier=kaplan_meier),
        "kaplan_meier" if kaplan_meier else "life_table",
        survival_words.lead,
    )
