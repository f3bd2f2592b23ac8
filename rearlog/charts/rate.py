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
from rearlog.records.errors import UsageError
from rearlog.sentences.phrases import sentence_case

BELOW_C, ABOVE_C = 4.0, 1.5
"""The temperatures shown reach this far (°C) below the threshold and above the warmest cohort."""
BEYOND = (0, (3.0, 2.0))
"""Dashes of a line beyond the temperatures that it was measured at."""
STEPS = 121


def rate(
    result: Thermal, look: Style = PAGE, *, stage: str | None = None, invented: bool = False
) -> Figure:
    """Draw the rate of development against temperature, a mark a cohort.

    Shown is the named stage; unless given, the longest with a line (see `shown`).
    The line is dashed where it reaches beyond the temperatures that it was measured at.
    """
    figure = new_figure(look)
    axes = figure.subplots()
    chosen = shown(result, stage)
    if chosen is None:
        say_nothing_to_draw(axes, look, "No cohort has finished a stage with known temperatures.")
        frame(figure, look, title(result, stage), result.notices, invented=invented)
        return figure
    dress(axes, look, grid="y")
    first, last = _limits(chosen)
    axes.set_xlim(first, last)
    if chosen.linear is not None:
        _line(axes, chosen.linear, look, first, last)
    if chosen.curve is not None:
        celsius = np.linspace(max(first, 0.0), last, STEPS)
        axes.plot(
            celsius,
            chosen.curve.rate(celsius),
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
    frame(figure, look, title(result, stage), _notes(result, chosen), invented=invented)
    return figure


def title(result: Thermal, name: str | None = None) -> str:
    """The finding: threshold and thermal constant with their standard errors."""
    stage = shown(result, name)
    if stage is None:
        return "No development rate yet"
    if stage.linear is None:
        return f"No line for {stage.stage}: {stage.no_linear}"
    line = stage.linear
    if line.threshold_se is None or line.constant_se is None:
        values = f"threshold {line.threshold:.1f} °C, constant {line.constant:.0f} degree-days"
        return f"{sentence_case(stage.stage)}: {values}, from two temperatures only"
    threshold = f"threshold {line.threshold:.1f} ± {line.threshold_se:.1f} °C"
    constant = f"constant {line.constant:.0f} ± {line.constant_se:.0f} degree-days"
    return f"{sentence_case(stage.stage)}: {threshold}, {constant}"


def alt_text(result: Thermal) -> str:
    """One sentence that stands for the chart."""
    return (
        f"Chart of development rate against temperature in {', '.join(result.cohorts)}. "
        f"{title(result)}."
    )


def shown(result: Thermal, name: str | None = None) -> StageThermal | None:
    """The stage of that name, else the longest with a line, else the longest with points.

    Raises UsageError where the named stage has no points.
    """
    if name is not None:
        for each in result.stages:
            if each.stage == name:
                return each
        names = ", ".join(each.stage for each in result.stages) or "there are none"
        raise UsageError(f"there is no rate of “{name}”", f"stages with rates: {names}")
    fitted = [each for each in result.stages if each.linear is not None] or result.stages
    return max(fitted, key=lambda each: max(point.days for point in each.points), default=None)


def _notes(result: Thermal, stage: StageThermal) -> list[str]:
    sentences = ["Bars: SD of temperature between individuals, standard error of the rate"]
    if stage.linear is not None:
        band = "" if stage.linear.slope_se is None else " and its 95 % band"
        sentences.append(f"Line{band}, dashed beyond the temperatures measured")
        if stage.linear.threshold_se is not None:
            sentences.append(f"±: standard error, from {stage.linear.n} cohorts")
    if stage.curve is not None:
        sentences.append(f"Dotted: Brière's curve, optimum {stage.curve.optimum:.1f} °C")
    if result.left_out:
        sentences.append(f"Hollow, left out: {', '.join(result.left_out)}")
    return [". ".join([*sentences, *result.notices]) + "."]


def _limits(stage: StageThermal) -> tuple[float, float]:
    celsius = [point.temperature for point in stage.points]
    if stage.linear is not None:
        celsius.append(stage.linear.threshold - (stage.linear.threshold_se or 0.0))
    if stage.curve is not None:
        celsius.append(stage.curve.upper)
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
    # the standard error of 1/days is that of the days over their square
    rate_se = None if point.days_se is None else point.days_se / point.days**2
    drawn = axes.errorbar(
        [point.temperature],
        [point.rate],
        xerr=None if point.temperature_sd is None else [point.temperature_sd],
        yerr=None if rate_se is None else [rate_se],
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
        f"{shortened(point.cohort, LONGEST_NAME)}, {point.days:.1f} days, n = {point.n}",
        look.small_pt,
        ha="right",
        va="bottom",
        right_pt=-0.5 * look.text_pt,
        above_pt=0.5 * look.text_pt,
    )
