"""How many of a cohort were in which stage, day by day."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rearlog.analysis.stages.stage_counts import DayCounts, StageCounts
from rearlog.charts.palette import INK, MUTED, PALE, stage_colours, text_on
from rearlog.charts.panels import grid, hide_dates, panels
from rearlog.charts.style import (
    CHARACTER,
    LINE,
    PAGE,
    Style,
    date_axis,
    dress,
    frame,
    new_figure,
    say_nothing_to_draw,
    subtitle,
    write,
)
from rearlog.sentences.stage_counts import NOTES, title

GONE = {"removed": "--", "lost": "//", "dead": "xx"}
"""Those who are no longer there, from below to the top, and the hatching that tells them apart."""
HATCHING = "#b4b8b1"


def stages(results: Sequence[StageCounts], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw one or more cohorts, one above the other: a layer a stage, those gone on top.

    Each day shows what its checks had seen by its end.
    """
    layout = grid(look, len(results))
    panel_in = look.height_in if layout.rows == 1 else 0.62 * look.height_in
    height = min(look.tallest_in, panel_in * layout.rows + 8 * LINE * look.text_pt / 72)
    figure = new_figure(look, max(look.height_in, height))
    first = min(each.days[0].date for each in results).toordinal()
    last = max(each.days[-1].date for each in results).toordinal() + 1
    width_in = look.width_in / layout.columns
    for place, axes in enumerate(panels(figure, layout, len(results), [1.0] * layout.rows)):
        result = results[place]
        if not result.n:
            say_nothing_to_draw(axes, look, f"{result.cohort} has no individuals yet.")
            continue
        dress(axes, look)
        date_axis(axes, look, first, last, width_in)
        axes.set_ylim(0, result.n)
        axes.yaxis.set_major_locator(MaxNLocator(nbins=4, integer=True))
        _layers(axes, result, look, 0.85 * width_in * 72 / (last - first))
        species = f", {result.species}" if layout.columns == 1 else ""
        subtitle(axes, look, f"{result.cohort}{species}: individuals, n = {result.n}")
        if not layout.lowest(place, len(results)):
            hide_dates(axes)
    frame(figure, look, title(results), NOTES, invented=invented)
    return figure


def _layers(axes: Axes, result: StageCounts, look: Style, day_pt: float) -> None:
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
        axes.stairs(
            above,
            edges,
            baseline=below,
            fill=True,
            facecolor=PALE if gone else colours[name],
            edgecolor=HATCHING if gone else MUTED,
            linewidth=0.3 * look.line_pt,
            hatch=GONE.get(name),
            zorder=2,
            gid=f"layer-{result.cohort}-{name}",
        )
        wide = 1 + int(len(name) * CHARACTER * look.small_pt / day_pt)
        day, middle, room = _roomiest(below, above, wide)
        upright = room <= 0  # in no row of days is there room for the name, so it stands on end
        if upright:
            day, middle, _ = _roomiest(below, above, 1)
        label = write(
            axes,
            (edges[0] + day, middle),
            name,
            look.small_pt,
            INK if gone else text_on(colours[name]),
            ha="center",
            fixed=True,
        )
        label.set_rotation(90 if upright else 0)
        if gone:
            label.set_bbox({"facecolor": PALE, "edgecolor": "none", "pad": 1.0})
        below = above


def _count(day: DayCounts, result: StageCounts, name: str) -> int:
    if name in GONE:
        return {"removed": day.removed, "lost": day.lost, "dead": day.dead}[name]
    return day.in_stage[result.stages.index(name)]


def _roomiest(below: Sequence[int], above: Sequence[int], days: int) -> tuple[float, float, int]:
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
