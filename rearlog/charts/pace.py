"""The development of several cohorts in days, and beside it in degree-days."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rearlog.analysis.comparing.compare import DAYS, Comparison, StageComparison
from rearlog.charts.palette import PAPER, cohort_mark
from rearlog.charts.style import (
    LONGEST_NAME,
    PAGE,
    Style,
    dress,
    frame,
    label_axes,
    new_figure,
    say_nothing_to_draw,
    write,
)
from rearlog.records.entries import shortened
from rearlog.sentences.compare import notes, title
from rearlog.sentences.phrases import sentence_case


def pace(result: Comparison, look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw mean and SD of each cohort's development: in days, and in degree-days.

    Where temperature alone makes cohorts differ, they lie apart in days and together in
    degree-days. Both axes begin at zero, so that distances compare.
    """
    shown = [each for each in result.overall if each.by_mean]
    if not shown:
        figure = new_figure(look, 0.6 * look.height_in)
        say_nothing_to_draw(figure.subplots(), look, "No cohort has finished development.")
        frame(figure, look, title(result), (), invented=invented)
        return figure
    rows_in = 2.2 * len(result.cohorts) * look.text_pt / 72
    figure = new_figure(look, min(look.tallest_in, 0.6 * look.height_in + rows_in))
    panels = figure.subplots(1, len(shown), sharey=True, squeeze=False)[0]
    for axes, each in zip(panels, shown, strict=True):
        dress(axes, look, grid="x")
        _means(axes, each, look)
        unit = "Days" if each.unit == DAYS else "Degree-days (°C)"
        label_axes(axes, look, x=unit, y=sentence_case(each.stage))
    names = [shortened(name, LONGEST_NAME) for name in result.cohorts]
    panels[0].set_yticks(range(len(names)), names)
    panels[0].set_ylim(len(names) - 0.4, -0.6)
    frame(figure, look, title(result), notes(shown), invented=invented)
    return figure


def _means(axes: Axes, each: StageComparison, look: Style) -> None:
    for place, group in enumerate(each.groups):
        if group.mean is None:
            continue
        mark = cohort_mark(place)
        drawn = axes.errorbar(
            [group.mean],
            [place],
            xerr=None if group.sd is None else [group.sd],
            marker=mark.marker,
            markersize=0.8 * look.text_pt,
            markerfacecolor=mark.colour,
            markeredgecolor=PAPER,
            ecolor=mark.colour,
            elinewidth=1.4 * look.line_pt,
        )
        drawn[0].set_gid(f"{each.unit.split()[0]}-{group.cohort}")
        write(
            axes,
            (group.mean, place),
            f"{group.mean:.1f}, n = {group.n}" if each.unit == DAYS else f"{group.mean:.0f}",
            look.small_pt,
            ha="center",
            va="bottom",
            above_pt=0.7 * look.text_pt,
        )
    axes.set_xlim(left=0.0)
