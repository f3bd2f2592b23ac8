"""The part that came through in many cohorts, against how large they are."""

from __future__ import annotations

from collections import Counter

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter

from rearlog.analysis.pooling.funnel import Funnel, limits
from rearlog.analysis.pooling.season import Season, SpeciesSeason
from rearlog.charts.palette import ALARM, INK, MUTED
from rearlog.charts.panels import with_strip
from rearlog.charts.style import (
    PAGE,
    Style,
    around,
    dress,
    frame,
    label_axes,
    new_figure,
    round_numbers,
    said,
    write,
)
from rearlog.sentences.phrases import reached_word
from rearlog.sentences.season import NO_FUNNEL, funnel_notes, funnel_title

MOST_SIZES = 120
"""The lines are drawn through no more sizes of cohorts than this."""
LARGEST = 3.0
"""The largest mark has no more than so many times the area of one for one cohort of few."""
MOST_NAMED = 8
"""More cohorts that stand out are marked, not named."""


def funnel(result: Season, look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw what part of each cohort came to the last stage against its size, and between which
    limits chance leaves it.

    Cohorts with the same numbers are one mark, the larger the more they are. Of several species it
    is the one with the most cohorts.
    """
    species = result.species[0]
    found = species.survival.over_cohorts
    if found is None:
        return said(look, funnel_title(species), NO_FUNNEL, invented=invented)
    words = around(look, funnel_title(species), funnel_notes(species), invented=invented)
    figure = new_figure(look)
    axes, _ = with_strip(figure, look, look.height_in, 0.0)
    dress(axes, look, grid="y")
    _limits(axes, found, look)
    _points(axes, result, species, look)
    axes.set_ylim(-0.03, 1.03)
    axes.set_xlim(0, 1.08 * max(each.n for each in found.points))
    axes.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    round_numbers(axes.xaxis, look, look.width_in, whole=True)
    round_numbers(axes.yaxis, look, look.height_in - words.height_in)
    label_axes(
        axes,
        look,
        x="Animals whose end is known",
        y=f"Came to {reached_word(species.survival.stage)}",
    )
    frame(figure, look, words)
    return figure


def _limits(axes: Axes, found: Funnel, look: Style) -> None:
    largest = max(each.n for each in found.points)
    sizes = np.unique(np.linspace(1, 1.08 * largest, MOST_SIZES).astype(int)).tolist()
    (centre,) = axes.plot([0, 1.08 * largest], [found.centre] * 2, color=MUTED, zorder=1)
    centre.set(linewidth=0.7 * look.line_pt, gid="centre")
    for groups, dash, name in ((1, (0, (4, 2)), "inner"), (len(found.points), "solid", "outer")):
        for end, values in zip(("low", "high"), limits(found, sizes, groups), strict=True):
            (line,) = axes.plot(sizes, values, color=MUTED, linestyle=dash, zorder=2)
            line.set(linewidth=0.9 * look.line_pt, gid=f"{name}-{end}")


def _points(axes: Axes, result: Season, species: SpeciesSeason, look: Style) -> None:
    out = {each.id: each.cohort for each in species.stand_out if each.stage is None}
    assert species.survival.over_cohorts is not None
    points = [*zip(species.survival.ids, species.survival.over_cohorts.points, strict=True)]
    marks: Counter[tuple[int, int, bool]] = Counter(
        (each.n, each.reached, key in out) for key, each in points
    )
    most = max(marks.values())
    area = (0.5 * look.text_pt) ** 2 / max(1.0, most**0.5 / LARGEST)
    for alarmed, colour in ((False, INK), (True, ALARM)):
        some = [(mark, times) for mark, times in marks.items() if mark[2] is alarmed]
        if some:
            drawn = axes.scatter(
                [n for (n, _, _), _ in some],
                [reached / n for (n, reached, _), _ in some],
                s=[area * times**0.5 for _, times in some],
                color=colour,
                alpha=0.7,
                linewidths=0,
                zorder=4,
            )
            drawn.set_gid("out" if alarmed else "cohorts")
    named = [(key, each) for key, each in points if key in out]
    for key, each in named if len(named) <= MOST_NAMED else ():
        place = each.n, each.fraction
        write(axes, place, out[key], look.small_pt, right_pt=0.5 * look.text_pt, fixed=True)
