"""Degree-days by date: the running total with the cohort's stages on it, and each day's own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.stages.stage_counts import Arrival, StageCounts
from rearlog.analysis.stages.stage_heat import Heat
from rearlog.charts.palette import MUTED, PAPER, CohortMark, cohort_mark
from rearlog.charts.style import (
    PAGE,
    LineEnd,
    Style,
    date_axis,
    day_number,
    dress,
    frame,
    label_axes,
    label_ends,
    new_figure,
    write,
)
from rearlog.records.wording import day_runs
from rearlog.sentences.phrases import short_date
from rearlog.sentences.stage_heat import notes, title

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
    not known behind them. `compared` says whether the cohorts needed the same heat.
    """
    figure = new_figure(look, min(look.tallest_in, 1.2 * look.height_in))
    running, each_day = figure.subplots(2, sharex=True, height_ratios=[2.6, 1.0])
    first = min(each.daily[0].date for each in results).toordinal()
    last = max(each.daily[-1].date for each in results).toordinal() + 1
    for axes, steps in ((running, 5), (each_day, 2)):
        dress(axes, look, grid="y")
        date_axis(axes, look, first, last, look.width_in)
        axes.yaxis.set_major_locator(MaxNLocator(nbins=steps, integer=True))
    arrivals = {each.cohort: each.arrivals for each in stage_counts}
    for place, result in enumerate(results):
        mark = cohort_mark(place)
        _total(running, result, mark, look)
        reached = arrivals.get(result.cohort, ())
        named = len(reached) if len(results) == 1 else LAST_NAMED if len(results) <= 3 else 0
        _stages(running, result, reached, mark, look, named)
        _daily(each_day, result, mark, look)
        _missing(each_day, result, place, "daily")
        if len(results) == 1:
            _missing(running, result, place, "running")
    running.set_ylim(0.0, 1.1 * max(1.0, *(each.known_total[0] for each in results)))
    each_day.set_ylim(bottom=0.0)
    running.set_xlabel("")
    running.tick_params(axis="x", labelbottom=False)
    ends = [
        LineEnd(each.known_total[0], each.cohort, cohort_mark(place))
        for place, each in enumerate(results)
    ]
    label_ends(running, ends, look)
    label_axes(running, look, y=f"Degree-days °C since {short_date(date.fromordinal(first))}")
    label_axes(each_day, look, y="Degree-days °C of each day")
    frame(
        figure,
        look,
        title(results, compared),
        notes(results, stages_marked=bool(arrivals)),
        invented=invented,
    )
    return figure


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
    known = [each for each in result.daily if each.cumulative is not None]
    days = [result.daily[0].date.toordinal(), *(each.date.toordinal() + 1 for each in known)]
    return [float(day) for day in days], [0.0, *(each.cumulative or 0.0 for each in known)]


def _stages(
    axes: Axes,
    result: Heat,
    arrivals: Sequence[Arrival],
    mark: CohortMark,
    look: Style,
    named: int,
) -> None:
    """Mark the arrivals in each stage on the curve; only the last few bear their names."""
    days, totals = _curve(result)
    reached = [(day_number(each.median), each.stage) for each in arrivals]
    shown = [(day, stage) for day, stage in reached if days[0] <= day <= days[-1]]
    for place, (day, stage) in enumerate(shown):
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
        if place >= len(shown) - named:
            write(
                axes,
                (day, total),
                stage,
                look.small_pt,
                ha="right",
                va="bottom",
                right_pt=-0.35 * look.text_pt,
                above_pt=0.25 * look.text_pt,
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
