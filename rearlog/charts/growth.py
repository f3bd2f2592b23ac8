"""Head widths by instar with Dyar's line, and lengths and masses by age."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from math import exp, log

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter, NullLocator

from rearlog.analysis.growth.growth import Growth, Measurement
from rearlog.charts.individuals import of_individual
from rearlog.charts.keys import draw_key, key
from rearlog.charts.names import called
from rearlog.charts.palette import MUTED, CohortMark, cohort_mark
from rearlog.charts.panels import panel_figure, panels, side_by_side
from rearlog.charts.points import value_point
from rearlog.charts.style import (
    PAGE,
    Style,
    around,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
    write,
)
from rearlog.sentences.growth import notes, title
from rearlog.sentences.phrases import too_many

SERIES = (
    ("length_mm", "Body length (mm)", lambda each: each.length_mm),
    ("mass_mg", "Mass (mg)", lambda each: each.mass_mg),
)
LEAST_REACH = 4.0
"""A logarithmic axis reaches at least so many times as far up as down."""


def growth(results: Sequence[Growth], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw what was measured: head widths by instar, body lengths and masses by age.

    Widths and masses grow by ratios, so their axes are logarithmic: constant growth is straight.
    """
    finding, results = title(results), called(results)
    drawn: list[Callable[[Axes, Sequence[Growth], Style], None]] = []
    if any(each.instars for each in results):
        drawn.append(_widths)
    drawn += [_series(*each) for each in SERIES if _any(results, each[2])]
    words = around(look, finding, notes(results), invented=invented)
    if not drawn:
        return said(look, finding, "Nothing was measured yet.", invented=invented)
    below = key(look, [each.cohort for each in results] if len(results) > 1 else [])
    layout = side_by_side(look, len(drawn))
    room = panel_figure(look, words, below.height_in, layout.rows)
    if room is None:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure, high_in = room
    heights = [high_in] * layout.rows
    every, strip = panels(figure, look, layout, len(drawn), heights, below.height_in)
    for axes, draw in zip(every, drawn, strict=True):
        dress(axes, look, grid="y")
        draw(axes, results, look)
        if draw is not _widths:
            round_numbers(axes.xaxis, look, layout.inner_in, whole=True)
    draw_key(strip, look, below)
    frame(figure, look, words)
    return figure


Value = Callable[[Measurement], float | None]


def _any(results: Sequence[Growth], value: Value) -> bool:
    return any(value(each) is not None for one in results for each in one.series)


def _widths(axes: Axes, results: Sequence[Growth], look: Style) -> None:
    stages = sorted({each.stage for one in results for each in one.instars}, key=_number)
    beside = min(0.12, 0.5 / len(results))  # that marks of several cohorts do not hide each other
    for place, result in enumerate(results):
        mark = cohort_mark(place)
        shift = (place - (len(results) - 1) / 2) * beside
        x = [_number(each.stage) + shift for each in result.instars]
        means = [each.head_width_mm_mean for each in result.instars]
        sds = [each.sd or 0.0 for each in result.instars]
        gid = f"widths-{result.cohort}"
        value_point(axes, look, mark, x, means, gid, size=0.6, yerr=sds, linestyle="none", zorder=3)
        if len(results) == 1:
            for each in result.instars:
                write(
                    axes,
                    (_number(each.stage), each.head_width_mm_mean),
                    f"n = {each.n}",
                    look.small_pt,
                    va="top",
                    right_pt=0.4 * look.text_pt,
                    above_pt=-0.4 * look.text_pt,
                    fixed=True,
                )
        _line(axes, result, mark, look)
    expected = {each.stage: each.expected for one in results for each in one.instars}
    for stage, width in expected.items():
        if width is not None:
            axes.hlines(
                width,
                _number(stage) - 0.28,
                _number(stage) + 0.28,
                color=MUTED,
                linewidth=1.6 * look.line_pt,
                zorder=2,
                gid=f"expected-{stage}",
            )
    _ratio_axis(axes)
    first, last = _number(stages[0]), _number(stages[-1])
    axes.set_xlim(first - 0.6, last + (0.6 if len(results) > 1 else 1.3))
    axes.set_xticks(range(first, last + 1), [f"{stages[0][0]}{n}" for n in range(first, last + 1)])
    label_axes(axes, look, x="Instar", y="Head width (mm)")


def _number(stage: str) -> int:
    return int(stage[1:])


def _line(axes: Axes, result: Growth, mark: CohortMark, look: Style) -> None:
    """Dyar's line, through the middle of the means."""
    if result.dyar is None:
        return
    n = sum(each.n for each in result.instars)
    middle = sum(each.n * _number(each.stage) for each in result.instars) / n
    height = sum(each.n * log(each.head_width_mm_mean) for each in result.instars) / n
    ends = [_number(result.instars[place].stage) + reach for place, reach in ((0, -0.4), (-1, 0.4))]
    axes.plot(
        ends,
        [exp(height + log(result.dyar.ratio) * (x - middle)) for x in ends],
        color=mark.colour,
        linestyle=mark.dash,
        linewidth=look.line_pt,
        zorder=2,
        gid=f"dyar-{result.cohort}",
    )


def _series(name: str, label: str, value: Value) -> Callable[[Axes, Sequence[Growth], Style], None]:
    """The drawing of one measure by age."""

    def draw(axes: Axes, results: Sequence[Growth], look: Style) -> None:
        for place, result in enumerate(results):
            mark = cohort_mark(place)
            for individual, group in groupby(result.series, lambda each: each.individual):
                points = [(each.day, value(each)) for each in group if value(each) is not None]
                if points:
                    axes.plot(
                        *zip(*points, strict=True),
                        color=mark.colour,
                        linestyle=mark.dash,
                        linewidth=0.7 * look.line_pt,
                        marker=mark.marker,
                        markersize=0.3 * look.text_pt,
                        alpha=0.55,
                        gid=of_individual(name, place, individual),
                    )
        if name == "mass_mg":
            _ratio_axis(axes)
        else:
            axes.set_ylim(bottom=0.0)
        label_axes(axes, look, x="Age (days)", y=label)

    return draw


def _ratio_axis(axes: Axes) -> None:
    """A logarithmic axis with plain numbers."""
    axes.set_yscale("log")
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_minor_formatter(NullFormatter())
    low, high = axes.get_ylim()
    if high < LEAST_REACH * low:
        middle = (low * high) ** 0.5
        axes.set_ylim(middle / LEAST_REACH**0.5, middle * LEAST_REACH**0.5)
