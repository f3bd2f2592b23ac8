"""The pages that ship with the package."""

from __future__ import annotations

import sys
import webbrowser
from pathlib import Path

import click

from rearlog.cli.completion import pages
from rearlog.cli.options import notice, quiet_option
from rearlog.cli.streams import write_data
from rearlog.disk.cache import cache_folder
from rearlog.disk.outputs import write_output


@click.command("docs")
@click.argument("page", required=False, shell_complete=pages)
@click.option("--print", "printed", is_flag=True, help="Print the page instead of opening it.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Write all pages there instead of opening one.",
)
@quiet_option
def docs_command(page: str | None, printed: bool, output: Path | None) -> None:
    """Open the documents that came with this version in the browser.

    PAGE is the name of one; without it, the list of all opens. Nothing is fetched from a network.

    \b
    rearlog docs
    rearlog docs first-week
    rearlog docs methods --print
    """
    from rearlog.present.documents import as_page, contents, document, documents  # start-up time

    chosen = contents() if page is None else document(page)
    if printed:
        _print(chosen.text)
        return
    folder = output or cache_folder() / "documents"
    folder.mkdir(parents=True, exist_ok=True)
    for each in (contents(), *documents()):
        write_output(folder / f"{each.name}.html", as_page(each).encode(), force=True)
    opened = folder / f"{chosen.name}.html"
    if output is not None:
        notice(f"Wrote {len(documents()) + 1} pages: {opened}")
    elif not webbrowser.open(opened.absolute().as_uri()):
        click.echo(f"Open this in a browser: {opened}")


def _print(text: str) -> None:
    """Write a page laid out for a terminal; elsewhere as the Markdown that it is."""
    if not sys.stdout.isatty():
        write_data(text)
        return
    from rich.console import Console  # start-up time
    from rich.markdown import Markdown

    Console().print(Markdown(text, hyperlinks=False))
