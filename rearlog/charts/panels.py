"""A panel for each cohort: one below the other, in columns where there are many."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from msgspec import Struct

from rearlog.charts.style import Around, Style, letters, new_figure, subtitle
from rearlog.records.errors import UsageError
from rearlog.records.wording import counted, shortened_apart

WIDE, HIGH = 20.0, 11.0
"""A panel of so many times the size of the text in width and height has room for all it shows."""


BESIDE = 6.5
"""What stands left of a panel, and the room around it, take so many times the size of the text."""
BESIDE_BRIEF = 4.0
"""The same where only numbers stand there."""
BRIEF = 22.0
"""Panels narrower than so many times the size of the text have only numbers beside them."""


ABOVE, BELOW = 2.4, 4.0
"""What stands above a panel, and the dates or ages below it, take so many times the size of the
text."""
LEAST, LEAST_DRAWN, LEAST_ROWS = 9.0, 3.0, 1.4
"""Panels are at least so many times the size of the text high where the look allows it. A sentence
stands in place of curves with less than the second, and of rows and layers with less than the
third."""


def panel_figure(
    look: Style, words: Around, below_in: float, panels: int = 1, axes: int | None = None
) -> tuple[Figure, float] | None:
    """A figure for panels below each other, and how high each is: so high that with its words the
    figure has its usual height, to which a key or a table below is added; None where the look
    leaves them no room. So many of the panels have an axis (unless told, all of them).
    """
    around_in = (ABOVE * panels + BELOW * (panels if axes is None else axes)) * look.em_in
    beside_in = words.height_in + around_in
    usual_in = (usual_height(look, panels) - beside_in) / panels
    beside_in += below_in
    high_in = max(usual_in, LEAST * look.em_in)
    high_in = min(high_in, (look.tallest_in - beside_in) / panels)
    if high_in < LEAST_DRAWN * look.em_in:
        return None
    return new_figure(look, beside_in + panels * high_in), high_in


def usual_height(look: Style, panels: int) -> float:
    """How high a figure with so many panels below each other is where nothing else asks for more
    (inches)."""
    return look.height_in * max(1.0, 0.62 * panels)


class PanelGrid(Struct, frozen=True):
    """How many rows and columns of panels there are, and how wide a panel is without what stands
    beside it: `brief` says that there is room for numbers only."""

    rows: int
    columns: int
    inner_in: float
    brief: bool = False

    def heights(self, sizes: Sequence[int]) -> list[int]:
        """The largest size in each row, at least 1."""
        return [
            max(1, *sizes[row * self.columns : (row + 1) * self.columns])
            for row in range(self.rows)
        ]

    def lowest(self, place: int, count: int) -> bool:
        """Whether the panel at a place stands at the bottom of its column."""
        return place + self.columns >= count


def grid(look: Style, count: int, words_in: float = 1.0) -> PanelGrid:
    """The grid for so many panels, in what the words around leave of the greatest height.

    Its panels come as near as can be to the size that holds all; among those that do, it is the
    one with the fewest columns, since dates that stand below each other are compared.
    """
    wide = look.width_in / look.em_in
    high = (look.tallest_in - words_in) / look.em_in

    def worth(columns: int) -> tuple[float, int]:
        rows = ceil(count / columns)
        fits = min(1.0, wide / columns / WIDE, high / rows / HIGH)
        filled = count / (rows * columns)
        return fits * (1.0 if fits == 1.0 else filled**0.5), -columns

    columns = count if look.onto else max(range(1, count + 1), key=worth)
    brief = wide / columns < BRIEF
    inner = wide / columns - (BESIDE_BRIEF if brief else BESIDE)
    return PanelGrid(ceil(count / columns), columns, inner * look.em_in, brief)


def given(look: Style, least: int, most: int | None = None) -> tuple[Axes, ...]:
    """The axes that somebody gave for a chart of so many panels, those beyond the `least` if there
    is room for them; raises UsageError where they are another number."""
    count, most = len(look.onto), least if most is None else most
    if not least <= count <= most:
        need = counted(least, "panel") if least == most else f"{least} to {most} panels"
        raise UsageError(
            f"this chart has {need}, and {count} axes were given",
            "give a list of as many, or none for a figure of its own",
        )
    return look.onto


def panels(
    figure: Figure,
    look: Style,
    grid: PanelGrid,
    count: int,
    heights: Sequence[float],
    below_in: float = 0.0,
) -> tuple[list[Axes], Axes | None]:
    """The axes of the panels, row by row; places that are left over stay empty.

    With `below_in`, `heights` are inches too, and there is a strip as high below all panels. Of
    axes that somebody gave the last one has room for the key.
    """
    if look.onto:
        every = list(given(look, count))
        return every, every[-1] if below_in else None
    if grid.columns > 1:
        engine = figure.get_layout_engine()
        assert engine is not None
        engine.set(w_pad=0.04, wspace=0.0)  # type: ignore[call-arg]
    ratios = [*heights, *([below_in] if below_in else [])]
    layout = figure.add_gridspec(len(ratios), grid.columns, height_ratios=ratios)
    every = [
        figure.add_subplot(layout[place // grid.columns, place % grid.columns])
        for place in range(count)
    ]
    return every, figure.add_subplot(layout[-1, :]) if below_in else None


def with_strip(
    figure: Figure, look: Style, high_in: float, below_in: float
) -> tuple[Axes, Axes | None]:
    """Axes so high, and below them a strip for a key; without that where `below_in` is 0."""
    if look.onto:
        (axes,) = given(look, 1)
        return axes, axes if below_in else None
    if not below_in:
        return figure.subplots(height_ratios=[high_in]), None
    axes, strip = figure.subplots(2, height_ratios=[high_in, below_in])
    return axes, strip


def hide_dates(axes: Axes) -> None:
    """Leave the dates to the panel below."""
    axes.tick_params(axis="x", labelbottom=False)
    axes.set_xlabel("")


def dates_once(axes: Axes, grid: PanelGrid, place: int, count: int) -> None:
    """Leave the dates to the lowest panel of a column, and what they are to the first column."""
    if not grid.lowest(place, count):
        hide_dates(axes)
    elif place % grid.columns:
        axes.set_xlabel("")


def side_by_side(look: Style, count: int) -> PanelGrid:
    """So many panels beside each other; one below the other where that is too narrow."""
    rows = count if look.narrow else 1
    columns = count // rows
    return PanelGrid(rows, columns, look.width_in / columns)


def panel_names(names: Sequence[str], look: Style, grid: PanelGrid) -> tuple[str, ...]:
    """The names of cohorts as panels have room for, beside a temperature."""
    room = letters(look.small_pt, grid.inner_in) - len(", 18.0 °C")
    return shortened_apart(names, max(6, room))


def panel_label(
    axes: Axes,
    look: Style,
    cohort: str,
    others: Sequence[str],
    grid: PanelGrid,
    pad_pt: float | None = None,
) -> None:
    """Name a panel's cohort, and what else is to be said of it as far as there is room.

    The last of the `others` matters most, and is said in any case.
    """
    room = letters(look.small_pt, grid.inner_in)
    told = list(others)
    while len(told) > 1 and len(", ".join([cohort, *told])) > room:
        told.pop(0)
    subtitle(axes, look, ", ".join([cohort, *told]), pad_pt)
