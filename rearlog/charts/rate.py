"""Development rate against temperature: the line, its band, and the threshold where it ends."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.comparing.rate_models import LinearRate
from rearlog.analysis.comparing.thermal import RatePoint, StageThermal, Thermal
from rearlog.charts.palette import INK, MUTED, PALE, PAPER, cohort_mark
from rearlog.charts.style import (
    LONGEST_NAME,
    PAGE,
    Style,
    dress,
    frame,
    label_axes,
    new_figure,
    say_nothing_to_draw,
    write,
)
from rearlog.records.entries import shortened
from rearlog.sentences.thermal import notes, notices, title

BELOW_C, ABOVE_C = 4.0, 1.5
"""The temperatures shown reach this far (°C) below the threshold and above the warmest cohort."""
BEYOND = (0, (3.0, 2.0))
"""Dashes of a line beyond the temperatures that it was measured at."""
STEPS = 121


def rate(
    result: Thermal, look: Style = PAGE, *, stage: str | None = None, invented: bool = False
) -> Figure:
    """Draw the rate of development against temperature, a mark a cohort.

    Shown is the named stage; unless given, the longest with a line (see `Thermal.shown`).
    The line is dashed where it reaches beyond the temperatures that it was measured at.
    """
    figure = new_figure(look)
    axes = figure.subplots()
    chosen = result.shown(stage)
    if chosen is None:
        say_nothing_to_draw(axes, look, "No cohort has finished a stage with known temperatures.")
        frame(figure, look, title(result, stage), notices(result), invented=invented)
        return figure
    dress(axes, look, grid="y")
    first, last = _limits(chosen)
    axes.set_xlim(first, last)
    if chosen.linear is not None:
        _line(axes, chosen.linear, look, first, last)
    curve = chosen.best_curve
    if curve is not None:
        celsius = np.linspace(max(first, 0.0), last, STEPS)
        axes.plot(
            celsius,
            curve.rate(celsius),
            color=MUTED,
            linestyle=(0, (1.0, 1.5)),
            linewidth=1.4 * look.line_pt,
            zorder=2,
            gid="curve",
        )
    for point in chosen.points:
        _point(axes, point, result.cohorts.index(point.cohort), look)
    highest = max(point.rate for point in chosen.points)
    axes.set_ylim(0.0, 1.25 * highest)
    label_axes(
        axes,
        look,
        x="Mean temperature while in the stage (°C)",
        y=f"Development rate, {chosen.stage} (1/day)",
    )
    frame(figure, look, title(result, stage), notes(result, chosen), invented=invented)
    return figure


def _limits(stage: StageThermal) -> tuple[float, float]:
    celsius = [point.temperature for point in stage.points]
    if stage.linear is not None:
        celsius.append(stage.linear.threshold - (stage.linear.threshold_se or 0.0))
    curve = stage.best_curve
    if curve is not None and curve.upper is not None:
        celsius.append(curve.upper)
    return min(celsius) - BELOW_C, max(celsius) + ABOVE_C


def _line(axes: Axes, line: LinearRate, look: Style, first: float, last: float) -> None:
    coldest, hottest = min(line.celsius), max(line.celsius)
    for name, low, high, dash in (
        ("line-below", line.threshold, coldest, BEYOND),
        ("line", coldest, hottest, "solid"),
        ("line-above", hottest, last, BEYOND),
    ):
        axes.plot(
            [low, high],
            line.rate([low, high]),
            color=INK,
            linestyle=dash,
            linewidth=1.4 * look.line_pt,
            zorder=3,
            gid=name,
        )
    celsius = np.linspace(first, last, STEPS)
    band = line.band(celsius)
    if band is not None:
        axes.fill_between(celsius, *band, facecolor=PALE, linewidth=0, zorder=1, gid="band")
    drawn = axes.errorbar(
        [line.threshold],
        [0.0],
        xerr=None if line.threshold_se is None else [line.threshold_se],
        marker="^",
        markersize=0.8 * look.text_pt,
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        ecolor=INK,
        elinewidth=1.2 * look.line_pt,
        zorder=5,
        clip_on=False,
    )
    drawn[0].set_gid("threshold")
    write(
        axes,
        (line.threshold, 0.0),
        "lower threshold",
        look.small_pt,
        va="bottom",
        ha="right",
        right_pt=-0.4 * look.text_pt,
        above_pt=0.6 * look.text_pt,
    )


def _point(axes: Axes, point: RatePoint, place: int, look: Style) -> None:
    mark = cohort_mark(place)
    waiting = f" + {point.in_stage} still in it" if point.in_stage else ""
    drawn = axes.errorbar(
        [point.temperature],
        [point.rate],
        xerr=None if point.temperature_sd is None else [point.temperature_sd],
        yerr=None if point.rate_se is None else [point.rate_se],
        linestyle="none",
        marker=mark.marker,
        markersize=0.8 * look.text_pt,
        markerfacecolor=mark.colour if point.used else PAPER,
        markeredgecolor=mark.colour,
        ecolor=mark.colour,
        elinewidth=look.line_pt,
        zorder=4,
    )
    drawn[0].set_gid(f"cohort-{point.cohort}")
    write(
        axes,
        (point.temperature, point.rate),
        f"{shortened(point.cohort, LONGEST_NAME)}, {point.days:.1f} days, n = {point.n}{waiting}",
        look.small_pt,
        ha="right",
        va="bottom",
        right_pt=-0.5 * look.text_pt,
        above_pt=0.5 * look.text_pt,
    )
