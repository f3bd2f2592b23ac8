"""The page with all of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog import __version__
from rearlog.cli.options import (
    cohorts_argument,
    force_option,
    notice,
    output_option,
    quiet_option,
)
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.notebook import Notebook, compare, thermal
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from rearlog.present.contents import CohortResults, Contents


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
    from rearlog.present.page import page  # start-up time: jinja2 and matplotlib
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


def contents(notebooks: Sequence[Notebook]) -> Contents:
    """Everything that a page shows of some cohorts."""
    from rearlog.present.contents import Contents

    several = len(notebooks) > 1
    return Contents(
        cohorts=tuple(map(results, notebooks)),
        comparison=compare(notebooks) if several else None,
        thermal=thermal(notebooks) if several and one_species(notebooks) else None,
        written_on=date.today(),
        version=__version__,
    )


def one_species(notebooks: Sequence[Notebook]) -> bool:
    """Whether all the cohorts are of one species: only then they have thermal constants."""
    return len({each.log.cohort.species.scientific_name for each in notebooks}) == 1


def results(notebook: Notebook) -> CohortResults:
    """Everything that a page shows of one cohort."""
    from rearlog.present.contents import CohortResults

    outlook = notebook.forecast()
    stages = notebook.event_history.stages
    return CohortResults(
        cohort=notebook.log.cohort,
        progress=notebook.progress(),
        stage_counts=notebook.stage_counts(),
        durations=notebook.durations(),
        whole=notebook.durations(stages[0], stages[-1]),
        heat=notebook.heat() if notebook.heat_curve is not None else None,
        survival=notebook.survival(),
        growth=notebook.growth(),
        forecast=outlook if any(event.n for event in outlook.events) else None,
        completeness=notebook.completeness(),
        in_doubt=notebook.in_doubt,
        agreement=notebook.agreement(),
    )
