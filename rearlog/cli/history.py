"""Looking back at the records."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import individuals
from rearlog.cli.options import WHEN, answering, cohort_argument, notice_in_doubt
from rearlog.cli.present import show
from rearlog.notebook import Notebook
from rearlog.present.history import history_tables, rounds_table
from rearlog.records import times


@click.command("history")
@cohort_argument
@click.argument("individual", required=False, shell_complete=individuals)
@click.option("--rounds", is_flag=True, help="A line a round, not every record.")
@click.option("--last", type=click.IntRange(1), metavar="N", help="The last N rounds alone.")
@click.option("--on", type=WHEN, metavar="DATE", help="What was seen on this day.")
@answering
def history_command(
    cohort: Path,
    individual: str | None,
    rounds: bool,
    last: int | None,
    on: str | None,
    form: str,
) -> None:
    """Show the records in the order of writing, struck ones marked.

    \b
    rearlog history room 11
    rearlog history room --rounds --last 7
    rearlog history room --on yesterday --format csv
    """
    notebook = Notebook(cohort)
    today = times.now(notebook.log.cohort.zone).date()
    day = None if on is None else times.read_date(on, today)
    result = notebook.history(individual, last, day)
    if rounds:
        show(result, form, lambda found: [rounds_table(found)], "rounds")
    else:
        show(result, form, history_tables, "observations")
    notice_in_doubt(result.in_doubt)
