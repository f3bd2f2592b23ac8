"""Survival and eggs by age, with their 95 % bands: lₓ and mₓ."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.charts.keys import MOST_AT_ENDS, draw_key, key
from rearlog.charts.names import called, longest_beside
from rearlog.charts.palette import CohortMark, cohort_mark
from rearlog.charts.panels import panel_figure, panels, side_by_side
from rearlog.charts.points import band
from rearlog.charts.style import (
    MARKED,
    PAGE,
    Style,
    around,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
)
from rearlog.sentences.phrases import too_many
from rearlog.sentences.reproduction import notes, title

ALIVE, EGGS = "Part alive (lₓ)", "Eggs a day (mₓ)"


def reproduction(
    results: Sequence[Reproduction], look: Style = PAGE, *, invented: bool = False
) -> Figure:
    """Draw lₓ and mₓ against age: beside each other, or one below the other where that is too
    narrow. Several cohorts are named in a key below; of many the bands are left out."""
    finding = title(results)
    results = called(results, longest_beside(look))
    banded = len(results) <= MOST_AT_ENDS
    words = around(look, finding, notes(results, bands=banded), invented=invented)
    shown = key(look, [each.cohort for each in results] if len(results) > 1 else [])
    layout = side_by_side(look, 2)
    room = panel_figure(look, words, shown.height_in, layout.rows)
    if room is None:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure, panel_in = room
    heights = [panel_in] * layout.rows
    (alive, eggs), strip = panels(figure, look, layout, 2, heights, shown.height_in)
    last = max(1, *(len(each.life_table) for each in results))
    for axes, name in ((alive, ALIVE), (eggs, EGGS)):
        dress(axes, look, grid="y")
        axes.set_xlim(0, last)
        round_numbers(axes.xaxis, look, layout.inner_in, whole=True)
        round_numbers(axes.yaxis, look, panel_in)
        label_axes(axes, look, x="Age (days)", y=name)
    for place, each in enumerate(results):
        _draw(alive, eggs, each, cohort_mark(place), look, banded=banded)
    alive.set_ylim(0.0, 1.04)
    eggs.set_ylim(bottom=0.0)
    draw_key(strip, look, shown, markers=not banded)
    frame(figure, look, words)
    return figure


def _draw(
    alive: Axes, eggs: Axes, result: Reproduction, mark: CohortMark, look: Style, *, banded: bool
) -> None:
    """The curves of one cohort: l at the ages themselves, m in the middle of its days."""
    days = result.life_table
    ages, middles = [day.x for day in days], [day.x + 0.5 for day in days]
    curves = (
        (alive, "alive", ages, [day.l for day in days], [(day.l_low, day.l_high) for day in days]),
        (eggs, "eggs", middles, [day.m for day in days], [(day.m_low, day.m_high) for day in days]),
    )
    for axes, what, x, heights, limits in curves:
        axes.plot(
            x,
            heights,
            color=mark.colour,
            linestyle=mark.dash,
            linewidth=1.6 * look.line_pt,
            marker="none" if banded else mark.marker,
            markevery=MARKED,
            markersize=0.5 * look.text_pt,
            zorder=3,
            gid=f"{what}-{result.cohort}",
        )
        known = [(low, high) for low, high in limits if low is not None and high is not None]
        if banded and known:
            low, high = zip(*known, strict=True)
            band(axes, x, low, high, mark.colour, f"band-{what}-{result.cohort}")
