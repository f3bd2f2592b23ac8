"""Stage against stage: what one observer called, and the other."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rearlog.analysis.agreement.agreement import Agreement, PairAgreement
from rearlog.charts.names import called
from rearlog.charts.palette import ALARM, COHORTS, HAIRLINE, INK, MUTED, PAPER
from rearlog.charts.panels import PanelGrid, panels
from rearlog.charts.style import (
    CHARACTER,
    PAGE,
    Style,
    around,
    dress,
    frame,
    letters,
    new_figure,
    said,
    subtitle,
    write,
)
from rearlog.sentences.agreement import notes, pairs_shown, title

CELL = 1.7
"""A cell is at least so many times the text's size wide and high."""
DIGIT = 0.64
"""Width of a digit in parts of the text's size."""
BESIDE, AROUND = 6.0, 8.5
"""What stands left of a table, and above and below it, takes so many times the text's size."""
MOST_PANELS = 6
"""Of more pairs of observers, those with the most calls are drawn."""
PALEST = 0.15
"""Opacity of a cell with hardly any calls; the fullest has 1."""


def agreement(
    results: Sequence[Agreement], look: Style = PAGE, *, invented: bool = False
) -> Figure:
    """Draw for each two observers how often they called which stage, the same or another."""
    finding, results = title(results), called(results)
    every = [(each.cohort, pair) for each in results for pair in each.pairs]
    if not every:
        text = "No two observers called the same animal."
        return said(look, finding, text, invented=invented)
    words = around(look, finding, notes(results), invented=invented)
    largest = max(n for _, pair in every for row in pair.table for n in row)
    cell = max(CELL, len(str(largest)) * DIGIT * look.least_pt / look.text_pt + 0.4)
    need = cell * max(len(pair.stages) for _, pair in every)
    wide = look.width_in / look.em_in
    high = (look.tallest_in - words.height_in) / look.em_in
    across = max(1, min(3, len(every), int(wide / (need + BESIDE))))
    most = across * max(1, int(high / (need + AROUND)))
    shown = sorted(every, key=lambda panel: -panel[1].n)[: min(MOST_PANELS, most)]
    down = -(-len(shown) // across)
    if len(shown) < len(every):
        told = [*notes(results), pairs_shown(len(shown), len(every))]
        words = around(look, finding, told, invented=invented)
    high = (look.tallest_in - words.height_in) / look.em_in
    inner = wide / across - BESIDE
    side = min(inner, high / down - AROUND, 2.2 * need)
    figure = new_figure(look, words.height_in + down * (side + AROUND) * look.em_in)
    layout = PanelGrid(down, across, (inner + BESIDE / 2) * look.em_in)
    placed, _ = panels(figure, look, layout, len(shown), [side * look.em_in] * down)
    several = len({name for name, _ in shown}) > 1
    for axes, (cohort, pair) in zip(placed, shown, strict=True):
        dress(axes, look)
        square = side >= cell * len(pair.stages)
        cell_pt = (side if square else inner) * look.text_pt / len(pair.stages)
        _cells(axes, cohort, pair, look, cell_pt)
        axes.set_aspect("equal" if square else "auto")
        first, second = pair.observers
        text = f"{first} down, {second} across: {pair.agreed} of {pair.n}"
        room = letters(look.small_pt, layout.inner_in)
        both = f"{cohort}: {text}"
        if len(both) > room:
            both = f"{cohort}:\n{text}"
        subtitle(axes, look, both if several else text)
    frame(figure, look, words)
    return figure


def _cells(axes: Axes, cohort: str, pair: PairAgreement, look: Style, cell_pt: float) -> None:
    most = max(n for row in pair.table for n in row)
    first, second = pair.observers
    for row, (stage, counts) in enumerate(zip(pair.stages, pair.table, strict=True)):
        for column, n in enumerate(counts):
            alike = row == column
            opacity = PALEST + (1 - PALEST) * n / most if n else 0.0
            cell = Rectangle(
                (column - 0.5, row - 0.5),
                1.0,
                1.0,
                facecolor=COHORTS[0].colour if alike else ALARM,
                alpha=opacity if alike else max(opacity, 0.5) if n else 0.0,
                gid=f"cell-{cohort}-{first}-{second}-{stage}-{pair.stages[column]}",
            )
            axes.add_patch(cell)
            if n:
                dark = alike and opacity > 0.5
                write(
                    axes,
                    (column, row),
                    str(n),
                    min(look.text_pt, max(look.least_pt, 0.9 * cell_pt / (DIGIT * len(str(n))))),
                    ha="center",
                    va="center",
                    colour=PAPER if dark else INK,
                )
    size = len(pair.stages)
    axes.set_xlim(-0.5, size - 0.5)
    axes.set_ylim(size - 0.5, -0.5)
    axes.set_xticks(range(size), pair.stages)
    longest_pt = (max(map(len, pair.stages)) * CHARACTER + 0.5) * look.small_pt
    axes.tick_params(axis="x", rotation=90 if longest_pt > cell_pt else 0)
    axes.set_yticks(range(size), pair.stages)
    for place in range(size + 1):
        axes.axhline(place - 0.5, color=HAIRLINE, linewidth=0.5 * look.line_pt, zorder=0.5)
        axes.axvline(place - 0.5, color=HAIRLINE, linewidth=0.5 * look.line_pt, zorder=0.5)
    axes.spines["bottom"].set_color(MUTED)
