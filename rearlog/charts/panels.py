"""A panel for each cohort: one below the other, in columns where there are many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.charts.style import Style

MOST_BELOW = {True: 3, False: 6}
"""How many panels stand one below the other: where the height is fixed, and where it may grow."""


@dataclass(frozen=True, slots=True)
class PanelGrid:
    """How many rows and columns of panels there are."""

    rows: int
    columns: int

    def heights(self, sizes: Sequence[int]) -> list[int]:
        """The largest size in each row, at least 1."""
        return [
            max(1, *sizes[row * self.columns : (row + 1) * self.columns])
            for row in range(self.rows)
        ]

    def lowest(self, place: int, count: int) -> bool:
        """Whether the panel at a place stands at the bottom of its column."""
        return place + self.columns >= count


def grid(look: Style, count: int) -> PanelGrid:
    """The grid for so many panels."""
    columns = ceil(count / MOST_BELOW[look.tallest_in <= look.height_in])
    return PanelGrid(ceil(count / columns), columns)


def panels(figure: Figure, grid: PanelGrid, count: int, heights: Sequence[float]) -> list[Axes]:
    """The axes of the panels, row by row; places that are left over stay empty."""
    axes = figure.subplots(grid.rows, grid.columns, squeeze=False, height_ratios=list(heights))
    every = list(axes.flat)
    for spare in every[count:]:
        spare.remove()
    return every[:count]


def hide_dates(axes: Axes) -> None:
    """Leave the dates to the panel below."""
    axes.tick_params(axis="x", labelbottom=False)
    axes.set_xlabel("")
