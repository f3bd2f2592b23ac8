"""Development rate against temperature: the line, its band, and the threshold where it ends."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.comparing.rate_models import LinearRate
from rearlog.analysis.comparing.thermal import RatePoint, StageThermal, Thermal
from rearlog.charts.keys import draw_key, key
from rearlog.charts.names import all_called, longest_beside
from rearlog.charts.palette import INK, MUTED, PALE, PAPER, CohortMark, cohort_mark
from rearlog.charts.panels import panel_figure, with_strip
from rearlog.charts.points import cohort_point, value_point
from rearlog.charts.style import (
    CHARACTER,
    PAGE,
    PT,
    Style,
    around,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
    write,
)
from rearlog.sentences.phrases import too_many
from rearlog.sentences.thermal import notes, notices, title

BELOW_C, ABOVE_C = 4.0, 1.5
"""The temperatures shown reach this far (°C) below the threshold and above the warmest cohort."""
THRESHOLD = 9.5
"""Its name takes so many times the size of its letters."""
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
    result = all_called(result, result.cohorts, longest_beside(look))
    chosen = result.shown(stage)
    if chosen is None:
        text = "No cohort has finished a stage with known temperatures."
        return said(look, title(result, stage), text, notices(result), invented=invented)
    words = around(look, title(result, stage), notes(result, chosen), invented=invented)
    first, last = _limits(chosen, look)
    highest = 1.25 * max(point.rate for point in chosen.points)
    texts = [_text(point) for point in chosen.points]
    room = panel_figure(look, words, 0.0)
    spans = (last - first, highest)
    labelled = room is not None and _labels_fit(look, chosen, texts, spans, room[1])
    below = key(look, [] if labelled else texts)
    room = panel_figure(look, words, below.height_in)
    if room is None:
        text = too_many(len(result.cohorts))
        return said(look, title(result, stage), text, invented=invented)
    figure, high_in = room
    axes, strip = with_strip(figure, look, high_in, below.height_in)
    dress(axes, look, grid="y")
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
    for point, text in zip(chosen.points, texts, strict=True):
        _point(axes, point, result.cohorts.index(point.cohort), look, text if labelled else "")
    axes.set_ylim(0.0, highest)
    round_numbers(axes.yaxis, look, high_in)
    label_axes(
        axes,
        look,
        x="Mean temperature while in the stage (°C)",
        y=f"Development rate, {chosen.stage} (1/day)",
    )
    marks = [cohort_mark(result.cohorts.index(point.cohort)) for point in chosen.points]
    draw_key(strip, look, below, marks, lines=False)
    frame(figure, look, words)
    return figure


def _text(point: RatePoint) -> str:
    """A cohort's name, how long it took, and how many animals that is of."""
    waiting = f" + {point.in_stage} still in it" if point.in_stage else ""
    return f"{point.cohort}, {point.days:.1f} days, n = {point.n}{waiting}"


def _labels_fit(
    look: Style,
    stage: StageThermal,
    texts: Sequence[str],
    spans: tuple[float, float],
    high_in: float,
) -> bool:
    """Whether the texts fit left of their marks, within the axes and none over another."""
    wide_pt, high_pt = 0.88 * look.width_in / PT, 0.9 * high_in / PT
    first, _ = _limits(stage, look)
    places = [
        ((point.temperature - first) / spans[0] * wide_pt, point.rate / spans[1] * high_pt)
        for point in stage.points
    ]
    widths = [(len(text) + 2) * CHARACTER * look.small_pt for text in texts]
    step = 2.2 * look.small_pt
    return all(x > wide for (x, _), wide in zip(places, widths, strict=True)) and all(
        abs(one[1] - other[1]) > step
        or one[0] < other[0] - wide - look.text_pt
        or other[0] < one[0] - wider - look.text_pt
        for (one, wider), (other, wide) in combinations(zip(places, widths, strict=True), 2)
    )


def _limits(stage: StageThermal, look: Style) -> tuple[float, float]:
    """The coldest and the hottest temperature shown, with room for the threshold's name."""
    celsius = [point.temperature for point in stage.points]
    if stage.linear is not None:
        celsius.append(stage.linear.threshold - (stage.linear.threshold_se or 0.0))
    curve = stage.best_curve
    if curve is not None and curve.upper is not None:
        celsius.append(curve.upper)
    first, last = min(celsius) - BELOW_C, max(celsius) + ABOVE_C
    if stage.linear is None:
        return first, last
    share = min(0.5, THRESHOLD * look.small_pt / (0.85 * look.width_in / PT))
    named = stage.linear.threshold
    return min(first, named - share / (1 - share) * (last - named)), last


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
    value_point(
        axes,
        look,
        CohortMark(INK, "solid", "^"),
        line.threshold,
        0.0,
        "threshold",
        fill=PAPER,
        bar=1.2,
        xerr=line.threshold_se,
        zorder=5,
        clip_on=False,
    )
    write(
        axes,
        (line.threshold, 0.0),
        "lower threshold",
        look.small_pt,
        va="bottom",
        ha="right",
        right_pt=-0.4 * look.text_pt,
        above_pt=0.6 * look.text_pt,
        fixed=True,
    )


def _point(axes: Axes, point: RatePoint, place: int, look: Style, text: str) -> None:
    errors = {"xerr": point.temperature_sd, "yerr": point.rate_se}
    cohort_point(axes, point, point.rate, place, look, **errors)
    write(
        axes,
        (point.temperature, point.rate),
        text,
        look.small_pt,
        ha="right",
        va="bottom",
        right_pt=-0.5 * look.text_pt,
        above_pt=0.5 * look.text_pt,
    )
