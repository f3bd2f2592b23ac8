"""A cohort as a point against temperature, with its error."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes

from rearlog.analysis.comparing.heat_mortality import MortalityPoint
from rearlog.analysis.comparing.thermal import RatePoint
from rearlog.charts.palette import PAPER, cohort_mark
from rearlog.charts.style import Style


def cohort_point(
    axes: Axes,
    point: RatePoint | MortalityPoint,
    value: float,
    place: int,
    look: Style,
    **errors: Any,
) -> None:
    """Draw the value of a cohort at its temperature in the mark of its place among the cohorts,
    hollow where it was left out; `errors` are those of `Axes.errorbar`."""
    mark = cohort_mark(place)
    drawn = axes.errorbar(
        [point.temperature],
        [value],
        linestyle="none",
        marker=mark.marker,
        markersize=0.8 * look.text_pt,
        markerfacecolor=mark.colour if point.used else PAPER,
        markeredgecolor=mark.colour,
        ecolor=mark.colour,
        elinewidth=look.line_pt,
        zorder=4,
        **errors,
    )
    drawn[0].set_gid(f"cohort-{point.cohort}")
