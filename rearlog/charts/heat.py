"""Degree-days by date: the running total with the cohort's stages on it, and each day's own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.stages.stage_counts import Arrival, StageCounts
from rearlog.analysis.stages.stage_heat import Heat
from rearlog.charts.keys import MOST_AT_ENDS, LineEnd, at_ends, draw_key, key, label_ends
from rearlog.charts.names import called
from rearlog.charts.palette import MUTED, PAPER, CohortMark, cohort_mark
from rearlog.charts.panels import PanelGrid, given, hide_dates, panel_figure, panels
from rearlog.charts.style import (
    PAGE,
    PT,
    Style,
    around,
    date_axis,
    day_number,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
    write,
)
from rearlog.records.wording import day_runs
from rearlog.sentences.phrases import short_date, too_many
from rearlog.sentences.stage_heat import label, notes, title

SHARES = (0.72, 0.28)
"""Parts of the height of the running total, and of the panel of single days."""
LAST_NAMED = 2
"""Of a few cohorts, so many of the last stages are named on each line; of more, none."""


def heat(
    results: Sequence[Heat],
    look: Style = PAGE,
    *,
    stage_counts: Sequence[StageCounts] = (),
    compared: Comparison | None = None,
    invented: bool = False,
) -> Figure:
    """Draw the degree-days of one or more cohorts by date.

    `stage_counts` of the same cohorts put each stage on the curve where half of those who came
    into it had done so. Filled days are drawn hollow; missing ones are hatched, and the total is
    not known behind them. `compared` says whether the cohorts needed the same heat. Of axes that
    are given, a second is for the single days.
    """
    finding = title(results, compared)
    results, stage_counts = called(results), called(stage_counts)
    arrivals = {each.cohort: each.arrivals for each in stage_counts}
    few = len(results) <= MOST_AT_ENDS
    told = notes(results, stages_marked=bool(arrivals), expected_marked=few)
    words = around(look, finding, told, invented=invented)
    names = [label(each) for each in results]
    ends_named = at_ends(look, names)
    below = key(look, [] if ends_named else names)
    count = len(given(look, 1, 2)) if look.onto else 2
    room = panel_figure(look, words, below.height_in, count, axes=1)
    if room is None and not look.onto:  # then without the panel of single days
        count, room = 1, panel_figure(look, words, below.height_in)
    if room is None:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure, high_in = room[0], count * room[1]
    shares = SHARES if count == 2 else (1.0,)
    heights = [share * high_in for share in shares]
    layout = PanelGrid(count, 1, (0.78 if ends_named else 0.9) * look.width_in)
    every, strip = panels(figure, look, layout, count, heights, below.height_in)
    running, each_day = every[0], every[1] if count == 2 else None
    first = min(each.daily[0].date for each in results).toordinal()
    last = max(each.daily[-1].date for each in results).toordinal() + 1
    for axes, each_in in zip(every, heights, strict=True):
        dress(axes, look, grid="y")
        date_axis(axes, look, first, last, layout.inner_in)
        round_numbers(axes.yaxis, look, each_in, whole=True)
    high_dd = 1.1 * max(1.0, *(each.known_total[0] for each in results))
    running.set_ylim(0.0, high_dd)
    taken: list[tuple[float, float]] = []
    for place, result in enumerate(results):
        mark = cohort_mark(place)
        _total(running, result, mark, look)
        reached = arrivals.get(result.cohort, ())
        named = len(reached) if len(results) == 1 else LAST_NAMED if len(results) <= 3 else 0
        scale = (layout.inner_in / PT / (last - first), heights[0] / PT / high_dd)
        _stages(running, result, reached, mark, look, named, scale, taken)
        if few:
            _expected(running, result, reached, mark, look)
        if each_day is not None:
            _daily(each_day, result, mark, look)
            _missing(each_day, result, place, "daily")
        if len(results) == 1:
            _missing(running, result, place, "running")
    if each_day is not None:
        each_day.set_ylim(bottom=0.0)
        if not look.onto:
            hide_dates(running)
        label_axes(each_day, look, y="Degree-days °C of each day")
    if ends_named:
        ends = [
            LineEnd(each.known_total[0], name, cohort_mark(place))
            for place, (each, name) in enumerate(zip(results, names, strict=True))
        ]
        label_ends(running, ends, look, heights[0])
    label_axes(running, look, y=f"Degree-days °C since {short_date(date.fromordinal(first))}")
    draw_key(strip, look, below)
    frame(figure, look, words)
    return figure


def _expected(
    axes: Axes, result: Heat, arrivals: Sequence[Arrival], mark: CohortMark, look: Style
) -> None:
    """The totals at which the cohort was expected in each stage, at the dates at which it came."""
    totals = {each.stage: (each.low, each.high) for each in result.expected_totals}
    bars = [
        (day_number(each.median), *totals[each.stage]) for each in arrivals if each.stage in totals
    ]
    if bars:
        days, lows, highs = np.array(bars).T
        drawn = axes.errorbar(
            days,
            (lows + highs) / 2,
            yerr=(highs - lows) / 2,
            linestyle="none",
            ecolor=mark.colour,
            elinewidth=0.7 * look.line_pt,
            capsize=0.25 * look.text_pt,
            capthick=0.7 * look.line_pt,
            zorder=2.5,
        )
        drawn[2][0].set_gid(f"expected-{result.cohort}")


def _missing(axes: Axes, result: Heat, place: int, panel: str) -> None:
    """Hatch the days without a temperature, each cohort at a slant of its own."""
    for first, last in day_runs(result.missing_dates):
        axes.axvspan(
            first.toordinal(),
            last.toordinal() + 1,
            facecolor="none",
            edgecolor=MUTED,
            hatch=("///", "\\\\\\", "|||")[place % 3],
            linewidth=0,
            alpha=0.5,
            zorder=0,
            gid=f"missing-{panel}-{result.cohort}-{first}",
        )


def _total(axes: Axes, result: Heat, mark: CohortMark, look: Style) -> None:
    days, totals = _curve(result)
    axes.plot(
        days,
        totals,
        color=mark.colour,
        linestyle=mark.dash,
        linewidth=1.6 * look.line_pt,
        zorder=3,
        gid=f"total-{result.cohort}",
    )


def _curve(result: Heat) -> tuple[list[float], list[float]]:
    """Midnights as day numbers and the totals at them, as far as they are known."""
    known = [
        (each.date.toordinal() + 1.0, each.cumulative)
        for each in result.daily
        if each.cumulative is not None
    ]
    begin = float(result.daily[0].date.toordinal())
    return [begin, *(day for day, _ in known)], [0.0, *(total for _, total in known)]


def _stages(
    axes: Axes,
    result: Heat,
    arrivals: Sequence[Arrival],
    mark: CohortMark,
    look: Style,
    named: int,
    scale: tuple[float, float],
    taken: list[tuple[float, float]],
) -> None:
    """Mark the arrivals in each stage on the curve; only the last few bear their names, and none
    that would stand in another: `taken` are the places of those that are written, in points, and
    `scale` what a day and a degree-day take of them."""
    days, totals = _curve(result)
    reached = [(day_number(each.median), each.stage) for each in arrivals]
    shown = [(day, stage) for day, stage in reached if days[0] <= day <= days[-1]]
    names = set[str]()
    for day, stage in reversed(shown[-named:] if named else []):
        x, y = day * scale[0], float(np.interp(day, days, totals)) * scale[1]
        wide, high = 3.6 * look.small_pt, 1.3 * look.small_pt
        if all(abs(x - other[0]) > wide or abs(y - other[1]) > high for other in taken):
            names.add(stage)
            taken.append((x, y))
    for day, stage in shown:
        total = float(np.interp(day, days, totals))
        axes.plot(
            [day],
            [total],
            marker=mark.marker,
            markersize=0.55 * look.text_pt,
            markerfacecolor=PAPER,
            markeredgecolor=mark.colour,
            markeredgewidth=look.line_pt,
            zorder=4,
            gid=f"stage-{result.cohort}-{stage}",
        )
        if stage in names:
            write(
                axes,
                (day, total),
                stage,
                look.small_pt,
                ha="right",
                va="bottom",
                right_pt=-0.35 * look.text_pt,
                above_pt=0.25 * look.text_pt,
                fixed=True,
            )


def _daily(axes: Axes, result: Heat, mark: CohortMark, look: Style) -> None:
    """Each day's degree-days as a step; a gap where they are not known."""
    edges = [each.date.toordinal() for each in result.daily]
    amounts = [np.nan if each.degree_days is None else each.degree_days for each in result.daily]
    axes.stairs(
        amounts,
        [*edges, edges[-1] + 1],
        baseline=None,
        color=mark.colour,
        linestyle=mark.dash,
        linewidth=look.line_pt,
        gid=f"daily-{result.cohort}",
    )
    filled = [
        (each.date.toordinal() + 0.5, amount)
        for each, amount in zip(result.daily, amounts, strict=True)
        if each.filled
    ]
    if filled:
        axes.plot(
            [day for day, _ in filled],
            [amount for _, amount in filled],
            linestyle="none",
            marker="o",
            markersize=0.45 * look.text_pt,
            markerfacecolor=PAPER,
            markeredgecolor=mark.colour,
            markeredgewidth=0.7 * look.line_pt,
            gid=f"filled-{result.cohort}",
        )
