"""How many lived, how long."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, span_options
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook


@click.command("survival")
@cohort_argument
@span_options
@click.option("--kaplan-meier", is_flag=True, help="Survival by day as well; in CSV instead.")
@by_option
@full_option
@answering
def survival_command(
    cohort: Path,
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
    """
    from rearlog.present.answers import by_sex_tables, survival_tables  # start-up time
    from rearlog.present.flat import flat_by_sex
    from rearlog.sentences import survival as survival_words
    from rearlog.sentences import survival_by_sex as by_sex_words

    notebook = Notebook(cohort)
    if by is not None:
        groups = notebook.survival_by_sex(first, until)
        rows = flat_by_sex(groups, kaplan_meier=kaplan_meier)
        show(
            groups,
            form,
            lambda: by_sex_tables(groups, kaplan_meier=kaplan_meier),
            rows,
            lambda: by_sex_words.lead(groups),
        )
        return
    result = notebook.survival(first, until)
    show(
        result,
        form,
        lambda: survival_tables(result, kaplan_meier=kaplan_meier),
        result.kaplan_meier if kaplan_meier else result.life_table,
        lambda: survival_words.lead(result),
    )
