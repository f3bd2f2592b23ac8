"""The part that dies against temperature: the cohorts, the curve through them, and its band."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter

from rearlog.analysis.comparing.heat_mortality import MortalityCurve
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.charts.keys import draw_key, key
from rearlog.charts.names import all_called, longest_beside
from rearlog.charts.palette import INK, MUTED, PALE, PAPER, CohortMark, cohort_mark
from rearlog.charts.panels import panel_figure, with_strip
from rearlog.charts.points import cohort_point, reach, value_point
from rearlog.charts.style import (
    PAGE,
    Style,
    around,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
)
from rearlog.sentences.heat_mortality import notes, nothing_to_draw, title
from rearlog.sentences.phrases import too_many

BESIDE_C = 1.5
"""The temperatures shown reach this far (°C) beyond the coldest and the warmest cohort."""
STEPS = 121


def mortality(
    result: Thermal, look: Style = PAGE, *, stage: str | None = None, invented: bool = False
) -> Figure:
    """Draw what part of a stage died at which temperature, a mark a cohort, and the curve of it.

    Shown is the named stage; unless given, from the first to the last.
    """
    result = all_called(result, result.cohorts, longest_beside(look))
    chosen = result.died_in(stage)
    if chosen is None:
        return said(look, title(None), nothing_to_draw(), invented=invented)
    words = around(look, title(chosen), notes(chosen), invented=invented)
    texts = [f"{each.cohort}, {each.died}/{each.n}" for each in chosen.points]
    below = key(look, texts)
    room = panel_figure(look, words, below.height_in)
    if room is None:
        return said(look, title(chosen), too_many(len(result.cohorts)), invented=invented)
    figure, high_in = room
    axes, strip = with_strip(figure, look, high_in, below.height_in)
    dress(axes, look, grid="y")
    celsius = [each.temperature for each in chosen.points]
    axes.set_xlim(min(celsius) - BESIDE_C, max(celsius) + BESIDE_C)
    if chosen.curve is not None:
        _curve(axes, chosen.curve, look)
    for each in chosen.points:
        cohort_point(
            axes,
            each,
            each.mortality,
            result.cohorts.index(each.cohort),
            look,
            yerr=reach(each.low, each.mortality, each.high),
            clip_on=False,
        )
    axes.set_ylim(0.0, 1.0)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    round_numbers(axes.yaxis, look, high_in)
    label_axes(axes, look, x="Mean temperature while in the stage (°C)", y=f"Died, {chosen.stage}")
    marks = [cohort_mark(result.cohorts.index(each.cohort)) for each in chosen.points]
    draw_key(strip, look, below, marks, lines=False)
    frame(figure, look, words)
    return figure


def _curve(axes: Axes, curve: MortalityCurve, look: Style) -> None:
    celsius = np.linspace(curve.coldest, curve.hottest, STEPS)
    axes.fill_between(
        celsius, *curve.band(celsius), facecolor=PALE, linewidth=0, zorder=1, gid="band"
    )
    axes.plot(
        celsius,
        curve.mortality(celsius),
        color=INK,
        linewidth=1.4 * look.line_pt,
        zorder=3,
        gid="curve",
    )
    if curve.best is not None and curve.least is not None:
        value_point(
            axes,
            look,
            CohortMark(MUTED, "solid", "v"),
            curve.best,
            curve.least,
            "best",
            fill=PAPER,
            edge=INK,
            size=0.7,
            bar=1.2,
            xerr=reach(curve.best_low, curve.best, curve.best_high),
            zorder=5,
        )
