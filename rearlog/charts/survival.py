"""Kaplan–Meier curves with their 95 % bands, and the number at risk beneath."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, MaxNLocator, PercentFormatter

from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.statistics.kaplan_meier import KaplanMeierRow
from rearlog.analysis.survival.survival import Survival
from rearlog.charts.palette import CohortMark, cohort_mark
from rearlog.charts.style import (
    LONGEST_NAME,
    PAGE,
    LineEnd,
    Style,
    dress,
    frame,
    label_axes,
    label_ends,
    new_figure,
    say_nothing_to_draw,
    subtitle,
    write,
)
from rearlog.records.entries import shortened
from rearlog.sentences.phrases import BAND
from rearlog.sentences.survival import days_of, label, notes, title

BAND_OPACITY = 0.16


def survival(
    results: Sequence[Survival],
    look: Style = PAGE,
    *,
    compared: SurvivalComparison | None = None,
    invented: bool = False,
) -> Figure:
    """Draw the part still alive by age, deaths dated when found and between looks, with its 95 %
    band; strokes mark those lost to view. `compared` says whether the cohorts differ."""
    if not any(row.day or row.deaths for each in results for row in each.kaplan_meier):
        figure = new_figure(look, 0.6 * look.height_in)
        say_nothing_to_draw(figure.subplots(), look, "Nobody was looked at yet.")
        frame(figure, look, title(results, compared), (), invented=invented)
        return figure
    table_in = (1.6 * len(results) + 1.0) * look.small_pt / 72
    figure = new_figure(look, min(look.tallest_in, look.height_in + 0.6 * table_in))
    above_in = figure.get_figheight() - table_in - 8 * look.text_pt / 72
    curves, table = figure.subplots(2, sharex=True, height_ratios=[above_in, table_in])
    last = max(1.0, *(row.day for each in results for row in each.kaplan_meier))
    dress(curves, look, grid="y")
    curves.set_xlim(0.0, last)
    curves.set_ylim(0.0, 1.04)
    curves.yaxis.set_major_locator(FixedLocator([0.0, 0.25, 0.5, 0.75, 1.0]))
    curves.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    curves.xaxis.set_major_locator(MaxNLocator(nbins=8, integer=True))
    curves.tick_params(axis="x", labelbottom=True)
    ends = []
    for place, result in enumerate(results):
        _curve(curves, result, cohort_mark(place), look)
        at_end = result.kaplan_meier[-1].survival
        ends.append(LineEnd(at_end, label(result), cohort_mark(place)))
    label_ends(curves, ends, look)
    label_axes(curves, look, x=days_of(results), y=f"Alive ({BAND})")
    _at_risk(table, results, look, [day for day in curves.get_xticks() if 0 <= day <= last])
    frame(figure, look, title(results, compared), notes(results), invented=invented)
    return figure


def _curve(axes: Axes, result: Survival, mark: CohortMark, look: Style) -> None:
    rows = result.kaplan_meier
    name = label(result)
    axes.plot(
        [0.0, *(row.day for row in rows)],
        [1.0, *(row.survival for row in rows)],
        drawstyle="steps-post",
        color=mark.colour,
        linestyle=mark.dash,
        linewidth=1.6 * look.line_pt,
        zorder=3,
        gid=f"survival-{name}",
    )
    looks = result.between_looks
    if looks:
        axes.plot(
            [0.0, *(day for row in looks for day in (row.after, row.by)), rows[-1].day],
            [
                1.0,
                *(part for row in looks for part in (row.survival + row.died, row.survival)),
                looks[-1].survival,
            ],
            color=mark.colour,
            linewidth=0.6 * look.line_pt,
            zorder=2,
            gid=f"between-looks-{name}",
        )
    axes.fill_between(
        [row.day for row in rows],
        [row.low for row in rows],
        [row.high for row in rows],
        step="post",
        facecolor=mark.colour,
        alpha=BAND_OPACITY,
        linewidth=0,
        zorder=1,
        gid=f"band-{name}",
    )
    censored = [row for row in rows if row.censored]
    if censored:
        axes.plot(
            [row.day for row in censored],
            [row.survival for row in censored],
            linestyle="none",
            marker="|",
            markersize=0.8 * look.text_pt,
            markeredgewidth=0.7 * look.line_pt,
            color=mark.colour,
            zorder=4,
            clip_on=False,
            gid=f"censored-{name}",
        )


def _at_risk(axes: Axes, results: Sequence[Survival], look: Style, days: Sequence[float]) -> None:
    dress(axes, look)
    axes.spines["bottom"].set_visible(False)
    axes.set_ylim(len(results) - 0.5, -0.5)
    axes.set_yticks(range(len(results)), [shortened(label(each), LONGEST_NAME) for each in results])
    axes.tick_params(axis="x", length=0, labelbottom=False)
    axes.tick_params(axis="y", pad=1.4 * look.small_pt)
    for y, result in enumerate(results):
        for day in days:
            text = str(at_risk(result.kaplan_meier, day))
            write(axes, (day, y), text, look.small_pt, ha="center")
    subtitle(axes, look, "Number at risk")


def at_risk(rows: Sequence[KaplanMeierRow], day: float) -> int:
    """How many were followed up to a day: as the first row from that day on says; 0 after all."""
    return next((row.at_risk for row in rows if row.day >= day), 0)
