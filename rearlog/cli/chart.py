"""One chart as a picture."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rearlog.cli.answer_options import by_option
from rearlog.cli.completion import stages
from rearlog.cli.options import (
    cohorts_argument,
    force_option,
    notice,
    output_option,
    quiet_option,
)
from rearlog.disk.outputs import refuse_taken
from rearlog.notebook import Notebook, compare, thermal
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style


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
@click.option(
    "--from",
    "first",
    metavar="STAGE",
    shell_complete=stages,
    help="For survival: since they were seen in it.",
)
@by_option
@click.option("--large-text", is_flag=True, help="Letters a third larger.")
@force_option
@quiet_option
def chart_command(
    kind: str,
    cohorts: tuple[Path, ...],
    output: Path,
    size: str,
    stage: str | None,
    first: str | None,
    by: str | None,
    large_text: bool,
    force: bool,
) -> None:
    """Draw a chart of one or more cohorts.

    \b
    rearlog chart progress room -o room.png
    rearlog chart survival cool room warm -o survival.pdf --size slide
    rearlog chart survival room --from adult --by sex -o longevity.png
    """
    from rearlog.charts.output import save  # start-up time: matplotlib is slow to load
    from rearlog.charts.style import look

    if stage is not None and kind != "rate":
        raise UsageError(f"the {kind} chart shows all stages", "leave out --stage")
    if kind != "survival" and (first is not None or by is not None):
        raise UsageError(
            f"the {kind} chart shows everybody from the start", "leave out --from and --by"
        )
    refuse_taken(output, force)
    notebooks = [Notebook(path) for path in cohorts]
    figure = draw(kind, notebooks, look(size, large_text=large_text), stage, first, by)
    save(figure, output, force=force)
    notice(f"Drew {kind} of {', '.join(each.name for each in notebooks)} in {output}")


def draw(
    kind: str,
    notebooks: Sequence[Notebook],
    look: Style,
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> Figure:
    """The chart of one kind for some cohorts; `stage` is for that of rates, `first` and `by` for
    that of survival."""
    painter = getattr(importlib.import_module(f"rearlog.charts.{kind}"), kind)
    invented = any(each.log.cohort.invented for each in notebooks)
    if kind in OF_ALL:
        result = OF_ALL[kind](notebooks)
    elif by is not None:
        result = [each for one in notebooks for each in one.survival_by_sex(first).groups]
    elif first is not None:
        result = [each.survival(first) for each in notebooks]
    else:
        result = [OF_EACH[kind](each) for each in notebooks]
    beside: dict[str, Any] = {"stage": stage} if kind == "rate" else {}
    if kind == "heat":  # it marks when the stages were reached
        beside["stage_counts"] = [each.stage_counts() for each in notebooks]
    figure: Figure = painter(result, look, invented=invented, **beside)
    return figure
