"""How many of a cohort were in which stage, day by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from math import ceil

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import StepPatch
from msgspec.structs import replace

from rearlog.analysis.stages.stage_counts import DayCounts, StageCounts
from rearlog.charts.keys import draw_swatches, swatch_key
from rearlog.charts.lanes import draw_lanes, lanes, room_for_lanes
from rearlog.charts.names import called
from rearlog.charts.palette import HATCHING, INK, MUTED, PALE, colours_of, stage_colours, text_on
from rearlog.charts.panels import (
    ABOVE,
    BELOW,
    LEAST,
    LEAST_ROWS,
    dates_once,
    grid,
    panel_label,
    panel_names,
    panels,
    usual_height,
)
from rearlog.charts.style import (
    CHARACTER,
    LINE,
    PAGE,
    PT,
    Style,
    around,
    date_axis,
    day_number_after,
    dress,
    frame,
    new_figure,
    round_numbers,
    said,
    say_nothing_to_draw,
    write,
)
from rearlog.sentences.phrases import of_panel, too_many
from rearlog.sentences.stage_counts import notes, title

GONE = {"removed": "--", "lost": "//", "dead": "xx"}
"""Those who are no longer there, from below to the top, and the hatching that tells them apart."""


def stages(results: Sequence[StageCounts], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw one or more cohorts, one above the other: a layer a stage, those gone on top.

    Each day shows what its checks had seen by its end. Brackets above are the ranges in which
    events were expected.
    """
    finding, results = title(results), called(results)
    words = around(look, finding, notes(results), invented=invented)
    layout = grid(look, len(results), words.height_in)
    colours = colours_of(each.stages for each in results)
    gone = [name for name in GONE if any(_count(each.days[-1], each, name) for each in results)]
    swatches = swatch_key(look, [*colours, *gone])
    beside_in = words.height_in + swatches.height_in + BELOW * look.em_in
    each_pt = (look.tallest_in - beside_in) / PT / layout.rows - ABOVE * look.text_pt
    if not room_for_lanes(look, max((each.expected for each in results), key=len), each_pt):
        results = [replace(each, expected=()) for each in results]
        words = around(look, finding, notes(results), invented=invented)
    above = lanes(look, max((each.expected for each in results), key=len), each_pt)
    high_pt = each_pt - above.height_pt
    if high_pt < LEAST_ROWS * look.text_pt:
        return said(look, finding, too_many(len(results)), invented=invented)
    usual_in = (usual_height(look, layout.rows) - beside_in) / layout.rows
    usual_pt = max(LEAST * look.text_pt, usual_in / PT)
    high_pt = min(high_pt, usual_pt)
    over_in = layout.rows * (each_pt - above.height_pt - high_pt) * PT
    figure = new_figure(look, look.tallest_in - over_in)
    first = min(each.days[0].date for each in results).toordinal()
    last = max(each.days[-1].date for each in results).toordinal() + 1
    last = max(last, *(ceil(_expected_end(each)) for each in results))
    every, below = panels(
        figure, look, layout, len(results), [high_pt * PT] * layout.rows, swatches.height_in
    )
    called_in_panels = panel_names([each.cohort for each in results], look, layout)
    for place, (axes, result) in enumerate(zip(every, results, strict=True)):
        if not result.n:
            say_nothing_to_draw(
                axes, look, f"{result.cohort} has no individuals yet.", layout.inner_in
            )
            continue
        dress(axes, look)
        date_axis(axes, look, first, last, layout.inner_in)
        axes.set_ylim(0, result.n)
        round_numbers(axes.yaxis, look, high_pt * PT, whole=True)
        own = lanes(look, result.expected, each_pt)
        draw_lanes(
            axes,
            look,
            own,
            partial(day_number_after, result.clock),
            result.cohort,
            layout.inner_in,
            through=True,
        )
        _layers(axes, result, look, layout.inner_in / PT / (last - first), high_pt / result.n)
        others = of_panel(result.species, result.n, result.celsius)
        panel_label(
            axes,
            look,
            called_in_panels[place],
            others,
            layout,
            own.height_pt + 0.5 * look.small_pt,
        )
        dates_once(axes, layout, place, len(results))
    filled = {**colours, **dict.fromkeys(gone, PALE)}
    draw_swatches(below, look, swatches, filled, {name: GONE[name] for name in gone})
    frame(figure, look, words)
    return figure


def _expected_end(result: StageCounts) -> float:
    """The day number until which something is expected."""
    ends = [day_number_after(result.clock, each.latest) for each in result.expected]
    return max(ends, default=0.0)


def _layers(axes: Axes, result: StageCounts, look: Style, day_pt: float, one_pt: float) -> None:
    """Draw the layers; a day is `day_pt` wide, and an individual `one_pt` high."""
    edges = [float(each.date.toordinal()) for each in result.days]
    edges.append(edges[-1] + 1)
    colours = stage_colours(result.stages)
    below = [0] * len(result.days)
    for name in (*result.stages, *GONE):
        counts = [_count(day, result, name) for day in result.days]
        if not any(counts):
            continue
        above = [low + count for low, count in zip(below, counts, strict=True)]
        gone = name in GONE
        layer = StepPatch(  # not by `stairs`, which measures each to set limits that are known
            above,
            edges,
            baseline=below,  # type: ignore[arg-type]
            fill=True,
            facecolor=PALE if gone else colours[name],
            edgecolor=HATCHING if gone else MUTED,
            linewidth=0.3 * look.line_pt,
            hatch=GONE.get(name),
            zorder=2,
            gid=f"layer-{result.cohort}-{name}",
            in_layout=False,
        )
        axes.add_artist(layer)
        _name(axes, name, look, (edges[0], below, above), day_pt, one_pt, colours)
        below = above


def _name(
    axes: Axes,
    name: str,
    look: Style,
    layer: tuple[float, Sequence[int], Sequence[int]],
    day_pt: float,
    one_pt: float,
    colours: Mapping[str, str],
) -> None:
    """Write a layer's name into it, on end where it must be; not where there is no room."""
    first, below, above = layer
    long_pt, high_pt = (len(name) + 1) * CHARACTER * look.small_pt, LINE * look.small_pt
    for turned, wide_pt, needed_pt in ((0, long_pt, high_pt), (90, high_pt, long_pt)):
        day, middle, room = roomiest(below, above, 1 + int(wide_pt / day_pt))
        if room * one_pt < needed_pt or len(below) * day_pt < wide_pt:
            continue
        colour = INK if name in GONE else text_on(colours[name])
        label = write(
            axes, (first + day, middle), name, look.small_pt, colour, ha="center", fixed=True
        )
        label.set_rotation(turned)
        if name in GONE:
            label.set_bbox({"facecolor": PALE, "edgecolor": "none", "pad": 1.0})
        return


def _count(day: DayCounts, result: StageCounts, name: str) -> int:
    if name in GONE:
        return {"removed": day.removed, "lost": day.lost, "dead": day.dead}[name]
    return day.in_stage[result.stages.index(name)]


def roomiest(below: Sequence[int], above: Sequence[int], days: int) -> tuple[float, float, int]:
    """Where in a layer there is most room for a name: days from the first, height, and the room.

    The room over some days in a row lies between the highest bottom and the lowest top.
    """
    days = min(days, len(below))
    rooms = [
        (min(above[day : day + days]) - max(below[day : day + days]), day)
        for day in range(len(below) - days + 1)
    ]
    widest = max(rooms)[0]
    best = [day for room, day in rooms if room == widest]
    day = best[len(best) // 2]
    height = (min(above[day : day + days]) + max(below[day : day + days])) / 2
    return day + days / 2, height, widest
