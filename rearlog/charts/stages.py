"""How many of a cohort were in which stage, day by day."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rearlog.analysis.composition import Composition, DayComposition
from rearlog.charts.palette import INK, MUTED, PALE, stage_colours, text_on
from rearlog.charts.style import (
    CHARACTER,
    LINE,
    PAGE,
    Look,
    date_axis,
    dress,
    frame,
    new_figure,
    say_nothing_to_draw,
    short_date,
    subtitle,
    write,
)

GONE = {"removed": "..", "lost": "//", "dead": "xx"}
"""Those who are no longer there, from below to the top, and the hatching that tells them apart."""
HATCHING = "#b4b8b1"


def stages(results: Sequence[Composition], look: Look = PAGE, *, invented: bool = False) -> Figure:
    """Draw one or more cohorts, one above the other: a layer a stage, those gone on top.

    Each day shows what its checks had seen by its end.
    """
    panel_in = look.height_in if len(results) == 1 else 0.62 * look.height_in
    height = min(look.tallest_in, panel_in * len(results) + 8 * LINE * look.text_pt / 72)
    figure = new_figure(look, max(look.height_in, height))
    panels = figure.subplots(len(results), squeeze=False)[:, 0]
    first = min(each.days[0].date for each in results).toordinal()
    last = max(each.days[-1].date for each in results).toordinal() + 1
    for place, (axes, result) in enumerate(zip(panels, results, strict=True)):
        if not result.n:
            say_nothing_to_draw(axes, look, f"{result.cohort} has no individuals yet.")
            continue
        dress(axes, look)
        date_axis(axes, look, first, last, look.width_in)
        _layers(axes, result, look)
        axes.set_ylim(0, result.n)
        axes.yaxis.set_major_locator(MaxNLocator(nbins=4, integer=True))
        subtitle(axes, look, f"{result.cohort}, {result.species}: individuals, n = {result.n}")
        if place < len(panels) - 1:
            axes.set_xlabel("")
            axes.tick_params(axis="x", labelbottom=False)
    notes = ["In the stage in which each was last seen by the end of the day."]
    frame(figure, look, title(results), notes, invented=invented)
    return figure


def title(results: Sequence[Composition]) -> str:
    """The finding: when half of the arrivals in the last stage had come, or what is there now."""
    if len(results) == 1:
        return _finding(results[0])
    goal = results[0].stages[-1]
    found = [(each.cohort, _median_day(each, goal)) for each in results]
    if all(day is None for _, day in found):
        return f"No {goal}s yet in {' or '.join(name for name, _ in found)}"
    parts = [f"{name} {day or 'not yet'}" for name, day in found]
    return f"Half of the {goal}s had come: {', '.join(parts)}"


def alt_text(results: Sequence[Composition]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the number in each stage by date in {names}. {title(results)}."


def _median_day(result: Composition, stage: str) -> str | None:
    for each in result.arrivals:
        if each.stage == stage:
            return short_date(each.median.date())
    return None


def _finding(result: Composition) -> str:
    goal, last = result.stages[-1], result.days[-1]
    day = _median_day(result, goal)
    if day is not None:
        return f"Half of the {goal}s had come by {day}"
    living = [
        f"{count} in {stage}"
        for stage, count in zip(result.stages, last.in_stage, strict=True)
        if count
    ]
    if living:
        return f"On {short_date(last.date)}: {', '.join(living)}"
    return f"None was left on {short_date(last.date)}: {last.dead} of {result.n} died"


def _layers(axes: Axes, result: Composition, look: Look) -> None:
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
            gid=f"layer-{name}",
        )
        day, middle = _roomiest(below, above, _days_wide(axes, look, name))
        label = write(
            axes,
            (edges[0] + day, middle),
            name,
            look.small_pt,
            INK if gone else text_on(colours[name]),
            ha="center",
            fixed=True,
        )
        if gone:
            label.set_bbox({"facecolor": PALE, "edgecolor": "none", "pad": 1.0})
        below = above


def _count(day: DayComposition, result: Composition, name: str) -> int:
    if name in GONE:
        return {"removed": day.removed, "lost": day.lost, "dead": day.dead}[name]
    return day.in_stage[result.stages.index(name)]


def _days_wide(axes: Axes, look: Look, name: str) -> int:
    """How many days a name covers, at least one."""
    left, right = axes.get_xlim()
    day_pt = 0.85 * look.width_in * 72 / (right - left)
    return 1 + int(len(name) * CHARACTER * look.small_pt / day_pt)


def _roomiest(below: Sequence[int], above: Sequence[int], days: int) -> tuple[float, float]:
    """Where in a layer there is most room for a name: days from the first, and height.

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
    return day + days / 2, height
