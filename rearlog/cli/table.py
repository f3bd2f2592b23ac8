"""A table as journals print them."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import cohorts_argument, force_option, notice, quiet_option
from rearlog.cli.present import print_table
from rearlog.cli.standard import OutputFile
from rearlog.cli.streams import write_data
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.notebook import Notebook, told_apart
from rearlog.records.errors import UsageError

WHAT = ("durations", "heat", "survival", "growth", "reproduction", "thermal")
FORMS = ("table", "markdown", "latex", "html", "csv")
ENDINGS = {".md": "markdown", ".tex": "latex", ".html": "html", ".htm": "html", ".csv": "csv"}
"""What the ending of a file says of its form."""


@click.command("table")
@click.argument("what", type=click.Choice(WHAT), metavar="WHAT")
@cohorts_argument
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMS),
    help="For the screen, or for a paper (default: what the ending of FILE says).",
)
@click.option(
    "-o",
    "--output",
    type=OutputFile(".csv"),
    metavar="FILE",
    help="Where to write it: .md, .tex, .html or .csv.",
)
@force_option
@quiet_option
def table_command(
    what: str, cohorts: tuple[Path, ...], form: str | None, output: Path | None, force: bool
) -> None:
    """Make a table as journals print them: mean ± SE (n), a column a cohort, letters, notes.

    WHAT is durations, heat, survival, growth, reproduction or thermal.

    Letters tell which cohorts were shown to differ. LaTeX is set with the package booktabs; the
    CSV has each number in a column of its own, not rounded.

    \b
    rearlog table durations cool room warm
    rearlog table durations cool room warm -o durations.tex
    rearlog table thermal cool room warm --format markdown
    """
    from rearlog.present.journal import journal_table  # start-up time
    from rearlog.present.journal_forms import WRITERS, to_screen

    if output is not None:
        refuse_taken(output, force)
        form = form or ENDINGS.get(output.suffix.lower())
        if form is None or form == "table":
            raise UsageError(
                f"{output} does not say its form", "end its name in .md, .tex, .html or .csv"
            )
    table = journal_table(what, told_apart([Notebook(path) for path in cohorts]))
    if form in (None, "table"):
        print_table(to_screen(table))
        return
    text = WRITERS[form](table)
    if output is None:
        write_data(text)
        return
    write_output(output, text.encode(), force=force)
    notice(f"Wrote {what} of {', '.join(each.name for each in table.heads)} in {output}")
