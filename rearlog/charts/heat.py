"""Degree-days by date: the running total with the cohort's stages on it, and each day's own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from itertools import groupby

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

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
from rearlog.sentences.phrases import Finding, by_cohort, short_date

LAST_NAMED = 2
"""Of a few cohorts, so many of the last stages are named on each line; of more, none."""


def heat(
    results: Sequence[Heat],
    look: Style = PAGE,
    *,
    stage_counts: Sequence[StageCounts] = (),
    invented: bool = False,
) -> Figure:
    """Draw the degree-days of one or more cohorts by date.

    `compositions` of the same cohorts put each stage on the curve where half of those who came
    into it had done so. Filled days are drawn hollow; missing ones are hatched, and the total is
    not known behind them.
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
    running.set_ylim(0.0, 1.1 * max(1.0, *(_known_total(each)[0] for each in results)))
    each_day.set_ylim(bottom=0.0)
    running.set_xlabel("")
    running.tick_params(axis="x", labelbottom=False)
    ends = [
        LineEnd(_known_total(each)[0], each.cohort, cohort_mark(place))
        for place, each in enumerate(results)
    ]
    label_ends(running, ends, look)
    label_axes(running, look, y=f"Degree-days °C since {short_date(date.fromordinal(first))}")
    label_axes(each_day, look, y="Degree-days °C of each day")
    frame(figure, look, title(results), _notes(results, arrivals), invented=invented)
    return figure


def title(results: Sequence[Heat]) -> str:
    """The finding: how much heat there was, by when."""
    if len(results) > 1:
        findings = []
        for each in results:
            total, day = _known_total(each)
            words = f"{total:.0f} by {short_date(day)}" if day else "unknown"
            findings.append(Finding(each.cohort, total, words))
        return f"Degree-days: {by_cohort(findings)}"
    total, day = _known_total(results[0])
    if day is None:
        return f"The first day of {results[0].cohort} has no temperature: the total is not known"
    limit = f"above {results[0].lower:g} °C"
    text = f"{total:.0f} degree-days {limit} by {short_date(day)} in {results[0].cohort}"
    return text if day == results[0].daily[-1].date else f"{text}, not known after"


def alt_text(results: Sequence[Heat]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    missing = sum(each.coverage.missing for each in results)
    gap = f"; {missing} days have no temperature" if missing else ""
    return f"Chart of the degree-days of {names} by date. {title(results)}{gap}."


def _known_total(result: Heat) -> tuple[float, date | None]:
    """The last running total that is known, and its day (None where not even the first is)."""
    known = [(each.cumulative, each.date) for each in result.daily if each.cumulative is not None]
    return known[-1] if known else (0.0, None)


def _notes(results: Sequence[Heat], arrivals: dict[str, tuple[Arrival, ...]]) -> list[str]:
    sentences = []
    if arrivals:
        sentences.append("Marks on the line: when half of those who came into a stage had done so")
    changed = dict.fromkeys(
        short_date(day.date)
        for each in results
        for day in each.daily
        if _clock_changes(day.date, arrivals.get(each.cohort, ()))
    )
    if changed:
        sentences.append(f"Clocks changed on {', '.join(changed)}: not a day of 24 hours")
    if any(each.coverage.filled for each in results):
        sentences.append("Hollow: filled from the days beside it")
    if any(each.coverage.missing for each in results):
        sentences.append("Hatched: no temperature, so no total from there on")
    ways = dict.fromkeys(
        f"{each.method}, threshold {each.lower:g} °C"
        + (f", upper {each.upper:g} °C ({each.cutoff} cutoff)" if each.upper is not None else "")
        for each in results
    )
    return [". ".join([*sentences, f"Counted by {' or '.join(ways)}"]) + "."]


def _clock_changes(day: date, arrivals: Sequence[Arrival]) -> bool:
    """Whether the day has 23 or 25 hours in the zone of the arrivals."""
    if not arrivals:
        return False
    midnight = datetime.combine(day, time(), arrivals[0].median.tzinfo)
    return midnight.utcoffset() != (midnight + timedelta(days=1)).utcoffset()


def _missing(axes: Axes, result: Heat, place: int, panel: str) -> None:
    """Hatch the days without a temperature, each cohort at a slant of its own."""
    for first, last in _runs(result.missing_dates):
        axes.axvspan(
            first,
            last + 1,
            facecolor="none",
            edgecolor=MUTED,
            hatch=("///", "\\\\\\", "|||")[place % 3],
            linewidth=0,
            alpha=0.5,
            zorder=0,
            gid=f"missing-{panel}-{result.cohort}-{date.fromordinal(first)}",
        )


def _runs(days: Iterable[date]) -> list[tuple[int, int]]:
    """Days in a row, as the ordinals of their first and last."""
    numbered = enumerate(day.toordinal() for day in days)
    groups = groupby(numbered, lambda pair: pair[1] - pair[0])
    runs = [[day for _, day in group] for _, group in groups]
    return [(run[0], run[-1]) for run in runs]


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
