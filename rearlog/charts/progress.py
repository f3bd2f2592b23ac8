"""A row for each individual, time along the bottom, its stages as spans."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.stages.progress import Progress
from rearlog.charts.keys import draw_swatches, swatch_key
from rearlog.charts.lanes import lanes, room_for_lanes
from rearlog.charts.names import called
from rearlog.charts.palette import colours_of
from rearlog.charts.panels import (
    ABOVE,
    BELOW,
    LEAST_DRAWN,
    LEAST_ROWS,
    dates_once,
    grid,
    panel_label,
    panel_names,
    panels,
)
from rearlog.charts.progress_rows import Rows, mark_text
from rearlog.charts.style import (
    CHARACTER,
    PAGE,
    PT,
    Style,
    around,
    date_axis,
    day_number_after,
    frame,
    new_figure,
    said,
    say_nothing_to_draw,
)
from rearlog.sentences.phrases import of_panel, too_many
from rearlog.sentences.progress import notes, title

MOST_ROW = 2.0
"""Rows are not higher than this many times the text's size."""
MOST_MARKS = 0.3
"""Words behind the rows take at most this part of the width; longer ones become a sign."""


def progress(
    results: Sequence[Progress], look: Style = PAGE, *, invented: bool = False, brief: bool = False
) -> Figure:
    """Draw one or more cohorts, one above the other, on one date axis.

    Rows are labelled while they are high enough to be read; a larger number of individuals stands
    in groups by outcome, in an order that shows the course. A slanted edge spans the time between
    the two checks that an event fell between. Individuals outside their expected range are marked.
    Brackets above the rows are the ranges in which events were expected; unless `brief` it says
    what they rest on.
    """
    finding, results = title(results), called(results)
    words = around(look, finding, notes(results, brief=brief), invented=invented)
    layout = grid(look, len(results), words.height_in)
    colours = colours_of(each.stages for each in results)
    swatches = swatch_key(look, list(colours))
    sizes = layout.heights([len(each.individuals) for each in results])
    free_in = look.tallest_in - words.height_in - swatches.height_in - BELOW * look.em_in
    each_pt = free_in / PT / layout.rows - ABOVE * look.text_pt
    if not room_for_lanes(look, max((each.expected for each in results), key=len), each_pt):
        results = [replace(each, expected=()) for each in results]
        words = around(look, finding, notes(results, brief=brief), invented=invented)
    above = lanes(look, max((each.expected for each in results), key=len), each_pt)
    rows_in = layout.rows * (each_pt - above.height_pt) * PT
    if rows_in < layout.rows * LEAST_ROWS * look.em_in:
        return said(look, finding, too_many(len(results)), invented=invented)
    row_pt = min(MOST_ROW * look.text_pt, rows_in / PT / sum(sizes))
    labelled = row_pt >= look.least_pt
    heights = [max(size * row_pt, LEAST_DRAWN * look.text_pt) * PT for size in sizes]
    heights = [height * min(1.0, rows_in / sum(heights)) for height in heights]
    taken_in = look.tallest_in - rows_in + sum(heights)
    figure = new_figure(look, min(look.tallest_in, taken_in))
    first, last = _limits(results, look, layout.inner_in, labelled=labelled)
    every, below = panels(figure, look, layout, len(results), heights, swatches.height_in)
    names = panel_names([each.cohort for each in results], look, layout)
    for place, (axes, result) in enumerate(zip(every, results, strict=True)):
        n = len(result.individuals)
        if not n or not result.last_check:
            seen = f"Nobody in {result.cohort} was looked at yet."
            sentence = seen if n else f"{result.cohort} has no individuals yet."
            say_nothing_to_draw(axes, look, sentence, layout.inner_in)
            continue
        date_axis(axes, look, first, last, layout.inner_in)
        own = lanes(look, result.expected, each_pt)
        high_pt = heights[place // layout.columns] / PT
        rows = Rows(axes, result, look, layout, high_pt, row_pt, labelled=labelled)
        rows.draw(own)
        rows.outline(place)
        others = of_panel(result.species, n, result.celsius)
        panel_label(axes, look, names[place], others, layout, own.height_pt + 0.5 * look.small_pt)
        dates_once(axes, layout, place, len(results))
    draw_swatches(below, look, swatches, colours)
    frame(figure, look, words)
    return figure


def _limits(
    results: Sequence[Progress], look: Style, width_in: float, *, labelled: bool
) -> tuple[float, float]:
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
    room = (max(map(len, marks)) + 4) * CHARACTER * look.small_pt * PT / width_in
    room = 0.0 if room > MOST_MARKS or not any(marks) else room
    return first - 0.01 * (last - first), last + (0.05 + 1.1 * room / (1 - room)) * (last - first)
