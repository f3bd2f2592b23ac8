"""Survival and eggs by age, with their 95 % bands: lₓ and mₓ."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, MaxNLocator

from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.charts.keys import MOST_AT_ENDS, draw_key, key
from rearlog.charts.names import LONGEST_NAME, called
from rearlog.charts.palette import CohortMark, cohort_mark
from rearlog.charts.panels import given
from rearlog.charts.style import (
    PAGE,
    PT,
    Style,
    around,
    dress,
    frame,
    label_axes,
    new_figure,
    said,
)
from rearlog.sentences.phrases import too_many
from rearlog.sentences.reproduction import notes, title

BAND_OPACITY = 0.16
ALIVE, EGGS = "Part alive (lₓ)", "Eggs a day (mₓ)"


def reproduction(
    results: Sequence[Reproduction], look: Style = PAGE, *, invented: bool = False
) -> Figure:
    """Draw lₓ and mₓ against age: beside each other, or one below the other where that is too
    narrow. Several cohorts are named in a key below; of many the bands are left out."""
    finding = title(results)
    results = called(results, 12 if look.narrow else LONGEST_NAME)
    banded = len(results) <= MOST_AT_ENDS
    words = around(look, finding, notes(results, bands=banded), invented=invented)
    several = len(results) > 1
    shown = key(look, [each.cohort for each in results])
    key_in = shown.height_in if several else 0.0
    rows = 2 if look.narrow else 1
    beside_in = words.height_in + key_in + (5.5 * rows + several) * look.em_in
    panel_in = max((look.height_in - beside_in) / rows, LEAST * look.em_in)
    panel_in = min(panel_in, (look.tallest_in - beside_in) / rows)
    if panel_in < FEWEST * look.em_in:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure = new_figure(look, beside_in + rows * panel_in)
    if look.onto:
        alive, eggs = given(look, 2)
        strip: Axes | None = eggs
    else:
        grid = figure.add_gridspec(
            rows + several, 3 - rows, height_ratios=[panel_in] * rows + [key_in] * several
        )
        alive = figure.add_subplot(grid[0, 0])
        eggs = figure.add_subplot(grid[1, 0] if look.narrow else grid[0, 1], sharex=alive)
        strip = figure.add_subplot(grid[rows, :]) if several else None
    last = max(1, *(len(each.life_table) for each in results))
    width_in = look.width_in / (3 - rows)
    for axes, name in ((alive, ALIVE), (eggs, EGGS)):
        dress(axes, look, grid="y")
        axes.set_xlim(0, last)
        ages = max(2, min(8, int((width_in / PT - 6 * look.text_pt) / (3.6 * look.small_pt))))
        axes.xaxis.set_major_locator(MaxNLocator(nbins=ages, integer=True))
        label_axes(axes, look, x="Age (days)", y=name)
    steps = max(1, min(4, int(panel_in / PT / (2.5 * look.small_pt))))
    for place, each in enumerate(results):
        _draw(alive, eggs, each, cohort_mark(place), look, banded=banded)
    alive.set_ylim(0.0, 1.04)
    parts = [0, 0.25, 0.5, 0.75, 1] if steps == 4 else [0, 0.5, 1]
    alive.yaxis.set_major_locator(FixedLocator(parts))
    eggs.set_ylim(bottom=0.0)
    eggs.yaxis.set_major_locator(MaxNLocator(nbins=steps))
    if several and strip is not None:
        draw_key(strip, look, shown, markers=not banded)
    frame(figure, look, words)
    return figure


LEAST, FEWEST = 9.0, 4.0
"""A panel is so many times the text's size high where the look allows it, and never lower than so
many: else a sentence stands in its place."""


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
            markevery=max(1, len(days) // 4),
            markersize=0.5 * look.text_pt,
            zorder=3,
            gid=f"{what}-{result.cohort}",
        )
        known = [(low, high) for low, high in limits if low is not None and high is not None]
        if banded and known:
            axes.fill_between(
                x,
                [low for low, _ in known],
                [high for _, high in known],
                facecolor=mark.colour,
                alpha=BAND_OPACITY,
                linewidth=0,
                zorder=1,
                gid=f"band-{what}-{result.cohort}",
            )
