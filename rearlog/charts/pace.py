"""The development of several cohorts in days, and beside it in degree-days."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.stage_comparison import DAYS, StageComparison
from rearlog.charts.names import all_called, longest_beside
from rearlog.charts.palette import PAPER, cohort_mark
from rearlog.charts.panels import ABOVE, BELOW, panels, side_by_side
from rearlog.charts.points import value_point
from rearlog.charts.style import (
    LINE,
    PAGE,
    PT,
    Style,
    around,
    dress,
    frame,
    label_axes,
    new_figure,
    round_numbers,
    said,
    write,
)
from rearlog.sentences.compare import notes, title
from rearlog.sentences.phrases import sentence_case, too_many


def pace(result: Comparison, look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw mean and SD of each cohort's development: in days, and in degree-days.

    Where temperature alone makes cohorts differ, they lie apart in days and together in
    degree-days. Both axes begin at zero, so that distances compare.
    """
    result = all_called(result, result.cohorts, longest_beside(look))
    shown = [each for each in result.overall if each.by_mean]
    if not shown:
        text = "No cohort has finished development."
        return said(look, title(result), text, invented=invented)
    brief = look.narrow or look.tallest_in <= look.height_in
    words = around(look, title(result), notes(shown, brief=brief), invented=invented)
    layout = side_by_side(look, len(shown))
    rows = layout.rows
    count = len(result.cohorts)
    beside_in = words.height_in + (ABOVE + BELOW) * rows * look.em_in
    row_pt = min(2.2 * look.text_pt, (look.tallest_in - beside_in) / PT / rows / count)
    if row_pt < LINE * look.least_pt:
        return said(look, title(result), too_many(count), invented=invented)
    high_in = count * row_pt * PT
    figure = new_figure(look, max(beside_in + rows * high_in, 0.6 * look.height_in))
    every, _ = panels(figure, look, layout, len(shown), [high_in] * rows)
    size_pt = look.in_row(row_pt)
    for place, (axes, each) in enumerate(zip(every, shown, strict=True)):
        dress(axes, look, grid="x")
        _means(axes, each, look, size_pt, above=row_pt > 1.8 * look.text_pt)
        unit = "Days" if each.unit == DAYS else "Degree-days (°C)"
        label_axes(axes, look, x=unit, y=sentence_case(each.stage))
        named = place == 0 or layout.columns == 1
        axes.set_yticks(range(count), result.cohorts if named else [""] * count)
        axes.tick_params(axis="y", labelsize=size_pt)
        axes.set_ylim(count - 0.4, -0.6)
        round_numbers(axes.xaxis, look, layout.inner_in, whole=True)
    frame(figure, look, words)
    return figure


def _means(axes: Axes, each: StageComparison, look: Style, size_pt: float, *, above: bool) -> None:
    """The means and their SD; the numbers stand above the marks, or behind the bars."""
    in_days = each.unit == DAYS
    for place, group in enumerate(each.groups):
        if group.mean is None:
            continue
        mark = cohort_mark(place)
        gid = f"{'days' if in_days else 'degree-days'}-{group.cohort}"
        value_point(axes, look, mark, group.mean, place, gid, edge=PAPER, bar=1.4, xerr=group.sd)
        text = f"{group.mean:.1f}, n = {group.n}" if in_days else f"{group.mean:.0f}"
        write(
            axes,
            (group.mean + (0.0 if above else group.sd or 0.0), place),
            text,
            size_pt,
            ha="center" if above else "left",
            va="bottom" if above else "center",
            right_pt=0.0 if above else 0.7 * look.text_pt,
            above_pt=0.7 * look.text_pt if above else 0.0,
        )
    axes.set_xlim(left=0.0)
