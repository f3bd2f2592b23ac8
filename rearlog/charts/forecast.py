"""When the adults should come: what has come so far, and what is expected, by date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rearlog.analysis.forecasting.emergence import EmergenceDay
from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.charts.palette import MUTED, CohortMark, cohort_mark
from rearlog.charts.style import (
    PAGE,
    LineEnd,
    Style,
    date_axis,
    dress,
    frame,
    label_axes,
    label_ends,
    new_figure,
    say_nothing_to_draw,
    write,
)
from rearlog.sentences.forecast import goal, not_seen, notes, title
from rearlog.sentences.phrases import sentence_case

BAND_OPACITY = 0.16
EXPECTED_DASH = (0, (3.0, 2.0))


def forecast(results: Sequence[Forecast], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw how many have come to the last stage by each day, and how many should have.

    The solid, stepped line is what came; the band holds the part WINDOW of outcomes,
    if all live, around the dashed line of what is expected.
    """
    figure = new_figure(look)
    axes = figure.subplots()
    over = [not_seen(each) for each in results if each.is_over]
    shown = [
        (each, cohort_mark(place))
        for place, each in enumerate(results)
        if each.emergence and not each.is_over
    ]
    if not shown:
        say_nothing_to_draw(axes, look, " ".join(over) or f"{title(results)}.")
        frame(figure, look, title(results), (), invented=invented)
        return figure
    _draw(axes, shown, look)
    frame(figure, look, title(results), [*notes(results), *over], invented=invented)
    return figure


def _draw(axes: Axes, shown: Sequence[tuple[Forecast, CohortMark]], look: Style) -> None:
    every = [day for result, _ in shown for day in result.emergence]
    highest = max(max(day.high or 0, day.came or 0, 1) for day in every)
    dress(axes, look, grid="y")
    axes.set_ylim(0, 1.06 * highest)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6, integer=True))
    first = min(day.date for day in every).toordinal()
    last = max(day.date for day in every).toordinal() + 1
    date_axis(axes, look, float(first), float(last), look.width_in)
    adults = sentence_case(goal([each for each, _ in shown]))
    label_axes(axes, look, y=f"{adults} so far, or expected")
    for result, mark in shown:
        _line(axes, result, mark, look)
    for now in sorted({result.as_of.toordinal() + 1 for result, _ in shown}):
        if first <= now < last:
            axes.axvline(now, color=MUTED, linewidth=0.7 * look.line_pt, gid="as-of")
            write(axes, (now, 0.97), "now", look.small_pt, MUTED, over="x", right_pt=4)
    ends = [
        LineEnd(_end(result.emergence), result.cohort, _as_it_ends(mark, result.emergence))
        for result, mark in shown
    ]
    label_ends(axes, ends, look)


def _line(axes: Axes, result: Forecast, mark: CohortMark, look: Style) -> None:
    """What came as steps; what is expected dashed, in its band."""
    came = [
        (day.date.toordinal() + 1, day.came) for day in result.emergence if day.came is not None
    ]
    coming = [
        (day.date.toordinal() + 1, day.expected, day.low, day.high)
        for day in result.emergence
        if day.expected is not None
    ]
    if came:
        days, counts = zip(*came, strict=True)
        axes.plot(
            [days[0] - 1, *days],
            [0, *counts],
            drawstyle="steps-pre",
            color=mark.colour,
            linewidth=1.8 * look.line_pt,
            zorder=3,
            gid=f"came-{result.cohort}",
        )
    if coming:
        days, expected, low, high = zip(*coming, strict=True)
        axes.fill_between(
            days, low, high, facecolor=mark.colour, alpha=BAND_OPACITY, linewidth=0, zorder=1,
            gid=f"band-{result.cohort}",
        )  # fmt: skip
        axes.plot(
            days,
            expected,
            color=mark.colour,
            linestyle=EXPECTED_DASH,
            linewidth=1.4 * look.line_pt,
            zorder=3,
            gid=f"expected-{result.cohort}",
        )


def _end(days: Sequence[EmergenceDay]) -> float:
    last = days[-1]
    return last.expected if last.expected is not None else float(last.came or 0)


def _as_it_ends(mark: CohortMark, days: Sequence[EmergenceDay]) -> CohortMark:
    """The mark of a cohort with the dash of its line where that ends."""
    return replace(mark, dash="solid" if days[-1].expected is None else EXPECTED_DASH)
