"""What the numbers are."""

from __future__ import annotations

import click

from rearlog.cli.options import answering
from rearlog.cli.present import show


@click.command("explain")
@click.argument("name", metavar="[NAME]...", nargs=-1)
@answering
def explain_command(name: tuple[str, ...], form: str) -> None:
    """What a number is: its formula, where it is from, what it assumes, where it was checked.

    NAME is a heading of a table, a key of the JSON, a column of the CSV, or a mark of a chart; an
    answer before it leaves out what other answers mean by it. An answer alone tells all of its
    names; nothing at all lists them.

    \b
    rearlog explain SE
    rearlog explain survival q
    rearlog explain chart rate band
    rearlog explain durations
    """
    from rearlog.present.explaining import explain, names  # start-up time
    from rearlog.present.explanations import explained_tables, name_rows, name_tables

    if not name:
        show(names(), form, name_tables, name_rows)
    else:
        show(explain(" ".join(name)), form, explained_tables, "meanings")
