"""The page with all of it."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import (
    cohorts_argument,
    force_option,
    notice,
    output_option,
    quiet_option,
)
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.notebook import Notebook
from rearlog.records.errors import UsageError


@click.command("report")
@cohorts_argument
@output_option("FILE", "The page, such as page.html.")
@force_option
@quiet_option
def report_command(cohorts: tuple[Path, ...], output: Path, force: bool) -> None:
    """Write one self-contained page: charts, tables, words, methods. It needs no network.

    \b
    rearlog report room -o room.html
    rearlog report cool room warm -o shelves.html --force
    """
    from rearlog.present.contents import contents  # start-up time: jinja2 and matplotlib
    from rearlog.present.page import page
    from rearlog.present.personal import shown_on_the_page

    if output.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{output} is no page", "end its name in .html")
    refuse_taken(output, force)
    notebooks = [Notebook(path) for path in cohorts]
    found = contents(notebooks)
    text = page(found)
    write_output(output, text.encode(), force=force)
    notice(f"Wrote {output}: open it in a browser")
    compared = any(each.agreement.pairs for each in found.cohorts)
    shown = shown_on_the_page([each.log for each in notebooks], observers=compared)
    notice(f"Before you pass it on: {shown}.")
