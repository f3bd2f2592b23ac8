"""One chart as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rearlog.cli.answer_options import by_option, known_groups
from rearlog.cli.completion import stages
from rearlog.cli.options import (
    WHEN,
    CohortName,
    SeasonPlace,
    force_option,
    notes,
    notice,
    notice_contradictions,
    output_option,
    quiet_option,
)
from rearlog.cli.standard import is_standard_output
from rearlog.cli.streams import printable, write_data
from rearlog.disk.outputs import refuse_taken
from rearlog.notebook import Notebook, told_apart
from rearlog.present.pictures import KINDS, OF_SEASON, OF_STAGE, SIZES, as_known, draw, draw_season
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style


class CohortOrPlace(SeasonPlace):
    """A cohort, or for charts of a season any place that has some."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path of the file, or of the place."""
        of_season = ctx is not None and ctx.params.get("kind") in OF_SEASON
        kind = SeasonPlace if of_season else CohortName
        return kind.convert(self, value, param, ctx)


@click.command("chart")
@click.argument("kind", type=click.Choice(KINDS), metavar="KIND")
@click.argument("cohorts", metavar="COHORT...", type=CohortOrPlace(), nargs=-1, required=True)
@output_option("FILE", "The ending says the form: .png, .svg, .pdf or .tiff.", ".png")
@click.option(
    "--size",
    type=click.Choice(SIZES),
    default="page",
    help="What it is drawn for: a phone, one column of a journal or two (double), a page, …",
)
@click.option("--stage", help="For rate, mortality: the stage, such as pupa or “egg to adult”.")
@click.option(
    "--from",
    "first",
    metavar="STAGE",
    shell_complete=stages,
    help="For survival: since they were seen in it.",
)
@by_option
@click.option("--as-of", type=WHEN, metavar="WHEN", help="As it was known then (end of that day).")
@click.option("--large-text", is_flag=True, help="Letters a third larger.")
@click.option(
    "--bare",
    is_flag=True,
    help="For a paper: title and notes are not drawn but written out as a caption.",
)
@click.option(
    "--dpi",
    type=click.IntRange(300, 600),
    help="Dots per inch of .png and .tiff, 300 to 600.",
)
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
    as_of: str | None,
    large_text: bool,
    bare: bool,
    dpi: int | None,
    force: bool,
) -> None:
    """Draw a chart of one or more cohorts.

    KIND is progress, stages, durations, heat, survival, growth, reproduction, forecast, agreement,
    rate, mortality or pace; or means or funnel, of any number of cohorts: they take what “rearlog
    season” takes, folders too.

    \b
    rearlog chart progress room -o room.png
    rearlog chart survival cool room warm -o survival.pdf --size slide
    rearlog chart survival room --from adult --by sex -o longevity.png
    rearlog chart forecast room --as-of 2026-03-20 -o then.png
    rearlog chart pace cool room warm -o pace.tiff --size column --bare --dpi 600
    rearlog chart funnel classes -o survival.svg
    """
    from rearlog.charts.output import save  # start-up time: matplotlib is slow to load
    from rearlog.charts.style import caption_of, look

    if stage is not None and kind not in OF_STAGE:
        raise UsageError(f"the {kind} chart shows all stages", "leave out --stage")
    if kind != "survival" and first is not None:
        raise UsageError(f"the {kind} chart shows everybody from the start", "leave out --from")
    refuse_taken(output, force)
    if kind in OF_SEASON:
        if by is not None or as_of is not None:
            raise UsageError(f"the {kind} chart shows all cohorts as they are now")
        figure = _of_season(kind, cohorts, look(size, large_text=large_text, bare=bare), stage)
        save(figure, output, force=force, dpi=dpi)
        if bare:
            _tell_caption(caption_of(figure))
        notice(f"Drew {kind} in {output}")
        _tell_what_is_missing(figure)
        return
    notebooks = told_apart([as_known(Notebook(path), as_of) for path in cohorts])
    if kind == "reproduction" and by is not None:
        notebooks, by = known_groups(notebooks, by), None
    figure = draw(kind, notebooks, look(size, large_text=large_text, bare=bare), stage, first, by)
    save(figure, output, force=force, dpi=dpi)
    if bare:
        _tell_caption(caption_of(figure))
    known = f" as of {as_of}" if as_of else ""
    notice(f"Drew {kind} of {', '.join(each.name for each in notebooks)}{known} in {output}")
    _tell_what_is_missing(figure)
    for each in notebooks:
        notice_contradictions(each.contradicted)


def _tell_caption(caption: str) -> None:
    if is_standard_output():
        notice(caption)
    else:
        write_data(f"{printable(caption)}\n")


def _tell_what_is_missing(figure: Figure) -> None:
    from rearlog.charts.style import said_instead  # start-up time: matplotlib

    if sentence := said_instead(figure):
        notes([f"There is nothing to see in it: “{sentence}”"])


def _of_season(kind: str, places: tuple[Path, ...], look: Style, stage: str | None) -> Figure:
    from rearlog.gathering.kept import usual_cache  # start-up time
    from rearlog.gathering.season import season
    from rearlog.sentences.season import notices

    result = season(places, cache=usual_cache([*places]))
    notes(notices(result))
    return draw_season(kind, result, look, stage)
