"""A row for each individual, time along the bottom, its stages as spans."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from rearlog.analysis.stages.progress import Progress
from rearlog.charts.panels import grid, hide_dates, panels
from rearlog.charts.progress_rows import Rows, mark_text
from rearlog.charts.style import (
    CHARACTER,
    LINE,
    PAGE,
    Style,
    date_axis,
    day_number_after,
    frame,
    new_figure,
    notes_text,
    say_nothing_to_draw,
)
from rearlog.sentences.progress import notes, title

LEAST_ROW = 0.7
"""Rows lower than this part of the text's size are not labelled but grouped."""
MOST_ROW = 2.0
"""Rows are not higher than this many times the text's size."""


def progress(results: Sequence[Progress], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw one or more cohorts, one above the other, on one date axis.

    Rows are labelled while they are high enough to be read; a larger number of individuals stands
    in groups by outcome, in an order that shows the course. A slanted edge spans the time between
    the two checks that an event fell between. Individuals outside their expected range are marked.
    """
    layout = grid(look, len(results))
    heights = layout.heights([len(each.individuals) for each in results])
    below = notes(results)
    beside_in = _height_beside_rows(layout.rows, look, below, invented=invented)
    row_pt = min(MOST_ROW * look.text_pt, (look.tallest_in - beside_in) * 72 / sum(heights))
    labelled = row_pt >= LEAST_ROW * look.text_pt
    figure = new_figure(look, max(0.45 * look.height_in, beside_in + sum(heights) * row_pt / 72))
    first, last = _limits(results, look, labelled=labelled)
    for place, axes in enumerate(panels(figure, layout, len(results), heights)):
        result = results[place]
        if not result.individuals:
            say_nothing_to_draw(axes, look, f"{result.cohort} has no individuals yet.")
            continue
        if not result.last_check:
            say_nothing_to_draw(axes, look, f"Nobody in {result.cohort} was looked at yet.")
            continue
        date_axis(axes, look, first, last, look.width_in / layout.columns)
        rows = Rows(axes, result, look, labelled=labelled, row_pt=row_pt, first=place == 0)
        rows.draw(result.species if layout.columns == 1 else "")
        if not layout.lowest(place, len(results)):
            hide_dates(axes)
    frame(figure, look, title(results), below, invented=invented)
    return figure


def _height_beside_rows(
    panel_rows: int, look: Style, below: Sequence[str], *, invented: bool
) -> float:
    """Inches that everything but the rows takes: title, notes, and each panel's own lines."""
    title_lines = 1 if panel_rows == 1 else 2
    note_lines = notes_text(look, below, invented=invented).count("\n") + 1
    texts = 1.6 * title_lines + 2.5 * panel_rows + 5.0 + LINE * note_lines
    return texts * look.text_pt / 72


def _limits(results: Sequence[Progress], look: Style, *, labelled: bool) -> tuple[float, float]:
    """The first and the last day number on the axis, room for marks behind the rows included."""
    firsts, lasts, marks = [], [], [""]
    for each in results:
        begins = [0.0, *(one.spans[0].begin_low for one in each.individuals)]
        ends = [1.0, *(one.spans[-1].end_high for one in each.individuals)]
        ends += [event.latest for event in each.expected]
        firsts.append(day_number_after(each.clock, min(begins)))
        lasts.append(day_number_after(each.clock, max(ends)))
        marks += [mark_text(one) for one in each.individuals if labelled]
    first, last = min(firsts), max(lasts)
    room = max(map(len, marks)) * CHARACTER * look.small_pt / 72 / look.width_in
    return first - 0.01 * (last - first), last + (0.03 + room) * (last - first)
