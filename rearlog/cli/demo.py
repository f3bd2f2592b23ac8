"""The sample cohorts, and the report of them."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import force_option, notice, quiet_option
from rearlog.exchange import bundle
from rearlog.exchange.samples import sample_cohorts, sample_files
from rearlog.notebook import Notebook

PAGE = "fernhill.html"


@click.command("demo")
@click.argument("folder", metavar="[FOLDER]", type=click.Path(path_type=Path), default="fernhill")
@force_option
@quiet_option
def demo_command(folder: Path, force: bool) -> None:
    """Copy the sample cohorts into a new folder, with the page that “rearlog report” makes of them.

    They are invented, and yours to try everything with. FOLDER is fernhill if none is given.

    \b
    rearlog demo
    rearlog demo to-try
    """
    bundle.write(folder, {**sample_files(), PAGE: report_of_samples().encode()}, force=force)
    notice(f"Wrote invented cohorts into {folder}: open {folder / PAGE} in a browser, or try:")
    notice(f"  rearlog durations {folder / 'room.json'}")


def report_of_samples() -> str:
    """The page, as “rearlog report” writes it."""
    from rearlog.present.contents import contents  # start-up time: jinja2 and matplotlib
    from rearlog.present.page import page

    return page(contents([Notebook(path) for path in sample_cohorts()]))
