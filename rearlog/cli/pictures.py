"""Pictures and the page."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style
    from rearlog.present.contents import CohortResults, Contents

OF_EACH: dict[str, Callable[[Notebook], Any]] = {
    "progress": Notebook.progress,
    "stages": Notebook.stage_counts,
    "durations": Notebook.durations,
    "heat": Notebook.heat,
    "survival": Notebook.survival,
    "growth": Notebook.growth,
    "forecast": Notebook.forecast,
    "agreement": Notebook.agreement,
}
"""Charts made from a list of one answer about each cohort."""
OF_ALL: dict[str, Callable[[Sequence[Notebook]], Any]] = {"rate": thermal, "pace": compare}
"""Charts made from one answer about all cohorts."""
KINDS = (*OF_EACH, *OF_ALL)


@click.command("chart")
@click.argument("kind", type=click.Choice(KINDS))
@cohorts_argument
@output_option("FILE", "The ending says the form: .png, .svg or .pdf.")
@click.option(
    "--size",
    type=click.Choice(["page", "slide", "poster"]),
    default="page",
    help="What the picture is for.",
)
@click.option("--stage", help="For rate: the stage that is drawn, such as pupa or “egg to adult”.")
@click.option("--large-text", is_flag=True, help="Letters a third larger.")
@force_option
@quiet_option
def chart_command(
    kind: str,
    cohorts: tuple[Path, ...],
    output: Path,
    size: str,
    stage: str | None,
    large_text: bool,
    force: bool,
) -> None:
    """Draw a chart of one or more cohorts.

    \b
    rearlog chart progress room -o room.png
    rearlog chart survival cool room warm -o survival.pdf --size slide
    """
    from rearlog.charts.output import save  # start-up time: matplotlib is slow to load
    from rearlog.charts.style import look

    if stage is not None and kind != "rate":
        raise UsageError(f"the {kind} chart shows all stages", "leave out --stage")
    refuse_taken(output, force)
    notebooks = [Notebook(path) for path in cohorts]
    save(draw(kind, notebooks, look(size, large_text=large_text), stage), output, force=force)
    notice(f"Drew {kind} of {', '.join(each.name for each in notebooks)} in {output}")


def draw(kind: str, notebooks: Sequence[Notebook], look: Style, stage: str | None = None) -> Figure:
    """The chart of one kind for some cohorts; `stage` is for that of rates."""
    painter = getattr(importlib.import_module(f"rearlog.charts.{kind}"), kind)
    invented = any(each.log.cohort.invented for each in notebooks)
    if kind in OF_ALL:
        result = OF_ALL[kind](notebooks)
    else:
        result = [OF_EACH[kind](each) for each in notebooks]
    beside: dict[str, Any] = {"stage": stage} if kind == "rate" else {}
    if kind == "heat":  # it marks when the stages were reached
        beside["stage_counts"] = [each.stage_counts() for each in notebooks]
    figure: Figure = painter(result, look, invented=invented, **beside)
    return figure


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
    text = page(contents(notebooks))
    write_output(output, text.encode(), force=force)
    notice(f"Wrote {output}: open it in a browser")
    shown = shown_on_the_page([each.log for each in notebooks])
    notice(f"Before you pass it on: it shows {shown}; no observers, notes, containers, clutches.")


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
    )
