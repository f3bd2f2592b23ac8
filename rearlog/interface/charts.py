"""Charts in Python: as figures of their own, or drawn into axes that somebody has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rearlog.notebook.cohort import Notebook
from rearlog.present.pictures import KINDS, OF_ALL, OF_SEASON, OF_STAGE, draw, draw_season
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def draw_chart(
    kind: str,
    notebooks: Sequence[Notebook],
    ax: Axes | Sequence[Axes] | None,
    size: str,
    stage: str | None,
    first: str | None,
    by: str | None,
) -> Figure | Axes | Sequence[Axes]:
    """A chart of cohorts, in a figure of its own or in axes that somebody has: see
    `rearlog.chart`."""
    if kind not in KINDS:
        raise UsageError(f"there is no chart “{kind}”", f"there are {', '.join(KINDS)}")
    if stage is not None and kind not in OF_STAGE:
        raise UsageError(f"the {kind} chart shows all stages", "leave out stage")
    if first is not None and kind != "survival":
        raise UsageError(f"the {kind} chart shows everybody from the start", "leave out first")
    if kind in OF_ALL and by is None and len(notebooks) < 2:
        raise UsageError(f"the {kind} chart compares cohorts", "give a list of two or more")

    from rearlog.charts.style import look, look_onto

    if kind in OF_SEASON:
        from rearlog.gathering.season import season_of

        if by is not None:
            raise UsageError(f"the {kind} chart shows all cohorts", "leave out by")
        chosen = look(size) if ax is None else look_onto(_axes(ax))
        figure = draw_season(kind, season_of(notebooks), chosen, stage)
        return figure if ax is None else ax
    if ax is None:
        return draw(kind, notebooks, look(size), stage, first, by)
    draw(kind, notebooks, look_onto(_axes(ax)), stage, first, by)
    return ax


def _axes(ax: Axes | Sequence[Axes]) -> list[Axes]:
    """The axes one by one: also those that matplotlib gives as an array of rows and columns."""
    import numpy as np

    return list(np.ravel(np.array(ax, dtype=object)))
