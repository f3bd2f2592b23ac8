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
    refuse_other,
)
from rearlog.cli.standard import InputFile
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.notebook import Notebook, told_apart
from rearlog.present.framing import Framing, Readers, own_title


@click.command("report")
@cohorts_argument
@output_option("FILE", "The page, such as page.html.", ".html")
@click.option("--title", metavar="TEXT", default="", help="Title of the page.")
@click.option(
    "--words",
    "words_file",
    metavar="FILE",
    type=InputFile(),
    help="Words of your own for the top of the page, in Markdown.",
)
@click.option(
    "--for",
    "readers",
    type=click.Choice([each.value for each in Readers]),
    default=Readers.CLASS.value,
    show_default=True,
    help="Who is meant: parents find all but the outcome folded, a class finds the pictures open, "
    "a lab finds everything open.",
)
@force_option
@quiet_option
def report_command(
    cohorts: tuple[Path, ...],
    output: Path,
    title: str,
    words_file: Path | None,
    readers: str,
    force: bool,
) -> None:
    """Write one self-contained page: charts, tables, words, methods. It needs no network.

    First comes one sentence and one picture of everyone, then words of your own, then all else.
    More than ten cohorts open with what they say together, as “rearlog season” does, and each is
    folded. HTML and pictures within your words are not taken; links lead to https addresses.

    \b
    rearlog report room -o room.html
    rearlog report room -o parents.html --words ours.md --for parents
    rearlog report cool room warm -o shelves.html --force
    """
    from rearlog.present.contents import contents  # start-up time: jinja2 and matplotlib
    from rearlog.present.page import page
    from rearlog.present.personal import shown_on_the_page

    refuse_other(output, "page", ".html", ".htm")
    refuse_taken(output, force)
    words = ""
    if words_file is not None:
        from rearlog.present.own_words import read  # start-up time: few pages have any

        words = read(words_file)
    framing = Framing(own_title(title), words, Readers(readers))
    notebooks = told_apart([Notebook(path) for path in cohorts])
    found = contents(notebooks)
    text = page(found, framing)
    write_output(output, text.encode(), force=force)
    notice(f"Wrote {output}: open it in a browser")
    compared = any(each.agreement.pairs for each in found.cohorts)
    shown = shown_on_the_page([each.log for each in notebooks], observers=compared)
    notice(f"Before you pass it on: {shown}.")
