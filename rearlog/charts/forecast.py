"""When the adults should come: what has come so far, and what is expected, by date."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.forecasting.emergence import EmergenceDay
from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.charts.keys import LineEnd, at_ends, draw_key, key, label_ends
from rearlog.charts.names import called
from rearlog.charts.palette import MUTED, CohortMark, cohort_mark
from rearlog.charts.panels import panel_figure, with_strip
from rearlog.charts.points import band
from rearlog.charts.style import (
    MARKED,
    PAGE,
    Style,
    around,
    date_axis,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
    write,
)
from rearlog.sentences.forecast import goal, not_seen, notes, title
from rearlog.sentences.phrases import sentence_case, too_many

EXPECTED_DASH = (0, (3.0, 2.0))


def forecast(results: Sequence[Forecast], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw how many have come to the last stage by each day, and how many should have.

    The solid, stepped line is what came; the band holds the part WINDOW of outcomes,
    if all live, around the dashed line of what is expected.
    """
    finding, results = title(results), called(results)
    over = [not_seen(each) for each in results if each.is_over]
    shown = [
        (each, cohort_mark(place))
        for place, each in enumerate(results)
        if each.emergence and not each.is_over
    ]
    if not shown:
        return said(look, finding, " ".join(over) or f"{finding}.", invented=invented)
    told = [*notes(results, bands=len(results) <= MOST_BANDS), *over]
    words = around(look, finding, told, invented=invented)
    names = [each.cohort for each, _ in shown]
    ends_named = at_ends(look, names) and len(shown) > 1
    below = key(look, [] if ends_named or len(shown) == 1 else names)
    room = panel_figure(look, words, below.height_in)
    if room is None:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure, high_in = room
    axes, strip = with_strip(figure, look, high_in, below.height_in)
    _draw(axes, shown, look, (0.78 if ends_named else 0.9) * look.width_in, high_in)
    if ends_named:
        ends = [
            LineEnd(_end(each.emergence), each.cohort, _as_it_ends(mark, each.emergence))
            for each, mark in shown
        ]
        label_ends(axes, ends, look, high_in)
    draw_key(strip, look, below, [mark for _, mark in shown])
    frame(figure, look, words)
    return figure


MOST_BANDS = 4
"""Of more cohorts the bands would hide each other: the lines are drawn alone."""


def _draw(
    axes: Axes,
    shown: Sequence[tuple[Forecast, CohortMark]],
    look: Style,
    wide_in: float,
    high_in: float,
) -> None:
    every = [day for result, _ in shown for day in result.emergence]
    highest = max(max(day.high or 0, day.came or 0, 1) for day in every)
    dress(axes, look, grid="y")
    axes.set_ylim(0, 1.06 * highest)
    round_numbers(axes.yaxis, look, high_in, whole=True)
    first = min(day.date for day in every).toordinal()
    last = max(day.date for day in every).toordinal() + 1
    date_axis(axes, look, float(first), float(last), wide_in)
    adults = sentence_case(goal([each for each, _ in shown]))
    label_axes(axes, look, y=f"{adults} so far, or expected")
    for result, mark in shown:
        _line(axes, result, mark, look, banded=len(shown) <= MOST_BANDS)
    nows = dict.fromkeys(result.as_of.toordinal() + 1 for result, _ in shown)
    for now in nows:
        if first <= now < last:
            name = "as-of" if len(nows) == 1 else f"as-of-{now}"
            axes.axvline(now, color=MUTED, linewidth=0.7 * look.line_pt, gid=name)
            if len(nows) == 1:
                right = now > (first + last) / 2
                write(
                    axes,
                    (now, 0.97),
                    "now",
                    look.small_pt,
                    MUTED,
                    over="x",
                    ha="right" if right else "left",
                    right_pt=-4 if right else 4,
                    fixed=True,
                )


def _line(axes: Axes, result: Forecast, mark: CohortMark, look: Style, *, banded: bool) -> None:
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
            marker=mark.marker,
            markevery=MARKED,
            markersize=0.5 * look.text_pt,
            zorder=3,
            gid=f"came-{result.cohort}",
        )
    if coming:
        days, expected, low, high = zip(*coming, strict=True)
        if banded:
            band(axes, days, low, high, mark.colour, f"band-{result.cohort}")
            for name, edge in (("low", low), ("high", high)):
                axes.plot(
                    days,
                    edge,
                    color=mark.colour,
                    linewidth=0.5 * look.line_pt,
                    zorder=2,
                    gid=f"band-{name}-{result.cohort}",
                )
        axes.plot(
            days,
            expected,
            color=mark.colour,
            linestyle=EXPECTED_DASH,
            linewidth=1.4 * look.line_pt,
            marker=mark.marker,
            markevery=MARKED,
            markersize=0.5 * look.text_pt,
            zorder=3,
            gid=f"expected-{result.cohort}",
        )


def _end(days: Sequence[EmergenceDay]) -> float:
    last = days[-1]
    return last.expected if last.expected is not None else float(last.came or 0)


def _as_it_ends(mark: CohortMark, days: Sequence[EmergenceDay]) -> CohortMark:
    """The mark of a cohort with the dash of its line where that ends."""
    return replace(mark, dash="solid" if days[-1].expected is None else EXPECTED_DASH)
