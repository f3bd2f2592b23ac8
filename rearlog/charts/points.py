"""Values with their errors: points, bands about lines, and cohorts against temperature."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from rearlog.analysis.comparing.heat_mortality import MortalityPoint
from rearlog.analysis.comparing.thermal import RatePoint
from rearlog.charts.palette import BAND_OPACITY, PAPER, CohortMark, cohort_mark
from rearlog.charts.style import POINT, Style


def value_point(
    axes: Axes,
    look: Style,
    mark: CohortMark,
    x: ArrayLike,
    y: ArrayLike,
    gid: str,
    *,
    fill: str = "",
    edge: str = "",
    size: float = POINT,
    bar: float = 1.0,
    **more: Any,
) -> None:
    """Draw a value (or some) with its error: the mark in parts of the text's size, filled and edged
    in its colour unless told, the bar in parts of a line's width. What is more goes to
    `Axes.errorbar`; see `reach`."""
    drawn = axes.errorbar(
        x,
        y,
        marker=mark.marker,
        markersize=size * look.text_pt,
        markerfacecolor=fill or mark.colour,
        markeredgecolor=edge or mark.colour,
        ecolor=mark.colour,
        elinewidth=bar * look.line_pt,
        **more,
    )
    drawn[0].set_gid(gid)


def band(
    axes: Axes, x: ArrayLike, low: ArrayLike, high: ArrayLike, colour: str, gid: str, **more: Any
) -> None:
    """Fill between the limits of a line, in its colour; `more` goes to `Axes.fill_between`."""
    axes.fill_between(
        x, low, high, facecolor=colour, alpha=BAND_OPACITY, linewidth=0, zorder=1, gid=gid, **more
    )


def reach(low: float | None, value: float, high: float | None) -> list[list[float]] | None:
    """The error of a value with these limits; None where one is not known."""
    return None if low is None or high is None else [[value - low], [high - value]]


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
    mark, fill = cohort_mark(place), "" if point.used else PAPER
    x, name = point.temperature, f"cohort-{point.cohort}"
    value_point(axes, look, mark, x, value, name, fill=fill, linestyle="none", zorder=4, **errors)
