"""Stage against stage: what one observer called, and the other."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rearlog.analysis.agreement.agreement import Agreement, PairAgreement
from rearlog.charts.palette import ALARM, COHORTS, HAIRLINE, INK, MUTED, PAPER
from rearlog.charts.style import (
    PAGE,
    Style,
    dress,
    frame,
    new_figure,
    say_nothing_to_draw,
    subtitle,
    write,
)
from rearlog.sentences.agreement import notes, title

MOST_PANELS = 6
"""Of more pairs of observers, those with the most calls are drawn."""
PALEST = 0.15
"""Opacity of a cell with hardly any calls; the fullest has 1."""


def agreement(
    results: Sequence[Agreement], look: Style = PAGE, *, invented: bool = False
) -> Figure:
    """Draw for each two observers how often they called which stage, the same or another."""
    panels = [(each.cohort, pair) for each in results for pair in each.pairs]
    panels = sorted(panels, key=lambda panel: -panel[1].n)[:MOST_PANELS]
    if not panels:
        figure = new_figure(look, 0.6 * look.height_in)
        say_nothing_to_draw(figure.subplots(), look, "No two observers called the same animal.")
        frame(figure, look, title(results), (), invented=invented)
        return figure
    across = min(3, len(panels))
    down = -(-len(panels) // across)
    figure = new_figure(look, min(look.tallest_in, look.height_in * (0.4 + 0.6 * down)))
    every = figure.subplots(down, across, squeeze=False).ravel().tolist()
    for axes, (cohort, pair) in zip(every, panels, strict=False):
        dress(axes, look)
        _cells(axes, cohort, pair, look)
        several = len({name for name, _ in panels}) > 1
        first, second = pair.observers
        text = f"{first} down, {second} across: {pair.agreed} of {pair.n}"
        subtitle(axes, look, f"{cohort}: {text}" if several else text)
    for axes in every[len(panels) :]:
        axes.set_axis_off()
    frame(figure, look, title(results), notes(results), invented=invented)
    return figure


def _cells(axes: Axes, cohort: str, pair: PairAgreement, look: Style) -> None:
    most = max(n for row in pair.table for n in row)
    first, second = pair.observers
    for row, (called, counts) in enumerate(zip(pair.stages, pair.table, strict=True)):
        for column, n in enumerate(counts):
            alike = row == column
            opacity = PALEST + (1 - PALEST) * n / most if n else 0.0
            cell = Rectangle(
                (column - 0.5, row - 0.5),
                1.0,
                1.0,
                facecolor=COHORTS[0].colour if alike else ALARM,
                alpha=opacity if alike else max(opacity, 0.5) if n else 0.0,
                gid=f"cell-{cohort}-{first}-{second}-{called}-{pair.stages[column]}",
            )
            axes.add_patch(cell)
            if n:
                dark = alike and opacity > 0.5
                write(
                    axes,
                    (column, row),
                    str(n),
                    look.text_pt,
                    ha="center",
                    va="center",
                    colour=PAPER if dark else INK,
                )
    size = len(pair.stages)
    axes.set_xlim(-0.5, size - 0.5)
    axes.set_ylim(size - 0.5, -0.5)
    axes.set_aspect("equal")
    axes.set_xticks(range(size), pair.stages)
    axes.set_yticks(range(size), pair.stages)
    for place in range(size + 1):
        axes.axhline(place - 0.5, color=HAIRLINE, linewidth=0.5 * look.line_pt, zorder=0.5)
        axes.axvline(place - 0.5, color=HAIRLINE, linewidth=0.5 * look.line_pt, zorder=0.5)
    axes.spines["bottom"].set_color(MUTED)
