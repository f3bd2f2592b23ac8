"""The charts by their names, and which answers each of them shows."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from msgspec import Struct

from rearlog.notebook import Notebook, compare, grouped, survival_by, thermal
from rearlog.present.tables import Table
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.wording import stamp, weekday

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.pooling.season import Season
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.charts.style import Style

OF_EACH: dict[str, Callable[[Notebook], Any]] = {
    "progress": Notebook.progress,
    "stages": Notebook.stage_counts,
    "durations": Notebook.durations,
    "heat": Notebook.heat,
    "survival": Notebook.survival,
    "growth": Notebook.growth,
    "reproduction": Notebook.reproduction,
    "forecast": Notebook.forecast,
    "agreement": Notebook.agreement,
}
"""Charts made from a list of one answer about each cohort."""


OF_ALL: dict[str, Callable[[Sequence[Notebook]], Any]] = {
    "rate": thermal,
    "mortality": thermal,
    "pace": compare,
}
"""Charts made from one answer about all cohorts."""


OF_SEASON = ("means", "funnel")
"""Charts made from the answer about a season, of any number of cohorts."""

OF_STAGE = ("rate", "mortality", "means")
"""Charts of one stage, or of the whole development."""

KINDS = (*OF_EACH, *OF_ALL, *OF_SEASON)


class ChartOnPage(Struct, frozen=True):
    """A chart on the page: inline SVG for a wide screen and for paper, another for a phone, the
    text that stands for both, and the tables behind it. Of a small one there is no `wide`."""

    kind: str
    wide: Markup | None
    narrow: Markup
    alt: str
    tables: Sequence[Table] = ()


SIZES = ("phone", "column", "double", "page", "slide", "poster")
"""What charts are drawn for: the names of `charts.style.LOOKS`, which takes matplotlib to load."""


def painter(kind: str) -> Callable[..., Figure]:
    """What draws the charts of a kind: the function of its name in the module of its name."""
    found: Callable[..., Figure] = getattr(importlib.import_module(f"rearlog.charts.{kind}"), kind)
    return found


def draw_season(kind: str, result: Season, look: Style, stage: str | None = None) -> Figure:
    """The chart of one kind of OF_SEASON."""
    named = {"stage": stage} if kind in OF_STAGE else {}
    return painter(kind)(result, look, invented=result.invented, **named)


def beside(
    kind: str,
    stage_counts: Callable[[], Sequence[StageCounts]],
    comparison: Callable[[], Comparison | None],
) -> dict[str, Any]:
    """What a chart shows beside its own results: that of heat marks when stages were reached, and
    both that of heat and that of survival say whether the cohorts differ, where they are compared.
    """
    if kind not in ("heat", "survival"):
        return {}
    found: dict[str, Any] = {"stage_counts": stage_counts()} if kind == "heat" else {}
    if (compared := comparison()) is not None:
        found["compared"] = compared if kind == "heat" else compared.survival
    return found


def as_known(notebook: Notebook, as_of: str | None) -> Notebook:
    """A cohort as it was known at a moment that somebody wrote; None: as it is known now.

    Raises UsageError for a moment to come, or before the cohort's start.
    """
    if as_of is None:
        return notebook
    header = notebook.log.cohort
    moment = times.meant(as_of, header.zone, header.check_time, times.now(header.zone))
    if moment < header.started:
        message = f"{as_of[:40]} is before {header.name} started, on {stamp(header.started)}"
        raise UsageError(message, "choose a later moment")
    return notebook.at(moment)


def draw(
    kind: str,
    notebooks: Sequence[Notebook],
    look: Style,
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> Figure:
    """The chart of one kind for some cohorts; `stage` is for that of rates, `first` for that
    of survival; with `by` it is of the groups of that factor."""
    from rearlog.charts.style import add_note  # start-up time: matplotlib

    invented = any(each.log.cohort.invented for each in notebooks)
    if by is not None and kind != "survival":
        groups = grouped(notebooks, by)
        notebooks = [each for each in groups if each.group.level is not None or kind in OF_EACH]
    if kind in OF_ALL:
        result = OF_ALL[kind](notebooks)
    elif by is not None and kind == "survival":
        result = list(survival_by(notebooks, by, first).groups)
    elif first is not None:
        result = [each.survival(first) for each in notebooks]
    else:
        result = [OF_EACH[kind](each) for each in notebooks]
    more: dict[str, Any] = {"stage": stage} if kind in OF_STAGE else {}
    compared = len(notebooks) > 1 and by is None  # groups have longer names
    more |= beside(
        kind,
        lambda: [each.stage_counts() for each in notebooks],
        lambda: compare(notebooks, first) if compared else None,
    )
    figure = painter(kind)(result, look, invented=invented, **more)
    known = dict.fromkeys(each.known for each in notebooks if each.known is not None)
    if known and kind != "forecast" and not look.onto:  # that of a forecast says so itself
        days = " and ".join(dict.fromkeys(f"{weekday(each)} {each.year}" for each in known))
        add_note(figure, f"As it was known by {days}.")
    return figure
