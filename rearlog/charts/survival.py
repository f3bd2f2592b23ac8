"""Kaplan–Meier curves with their 95 % bands, and the number at risk beneath."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter
from matplotlib.transforms import ScaledTranslation, blended_transform_factory

from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.statistics.kaplan_meier import KaplanMeierRow
from rearlog.analysis.survival.survival import Survival
from rearlog.charts.keys import MOST_AT_ENDS, LineEnd, at_ends, draw_key, key, label_ends, sample
from rearlog.charts.names import called, longest_beside
from rearlog.charts.palette import CohortMark, cohort_mark
from rearlog.charts.panels import ABOVE, given, panel_figure, with_strip
from rearlog.charts.points import band
from rearlog.charts.style import (
    MARKED,
    PAGE,
    PT,
    Style,
    around,
    dress,
    frame,
    label_axes,
    round_numbers,
    said,
    subtitle,
    write,
)
from rearlog.sentences.phrases import BAND, too_many
from rearlog.sentences.survival import NO_TABLE, days_of, notes, title


def survival(
    results: Sequence[Survival],
    look: Style = PAGE,
    *,
    compared: SurvivalComparison | None = None,
    invented: bool = False,
) -> Figure:
    """Draw the part still alive by age, deaths dated when found and between looks, with its 95 %
    band; strokes mark those lost to view. The table of those at risk is the key of the curves.
    `compared` says whether the cohorts differ. Of axes given, a second is for the table."""
    finding = title(results, compared)
    results = called(results, longest_beside(look))
    if not any(row.day or row.deaths for each in results for row in each.kaplan_meier):
        return said(look, finding, "Nobody was looked at yet.", invented=invented)
    banded = len(results) <= MOST_AT_ENDS
    names = [each.cohort for each in results]
    words = around(look, finding, notes(results, bands=banded), invented=invented)
    row_pt = 1.6 * look.small_pt if banded else 1.3 * look.small_pt
    below_in = row_pt * len(results) * PT
    ends_named = at_ends(look, names)
    room = panel_figure(look, words, below_in + ABOVE * look.em_in)
    tabled = len(given(look, 1, 2)) == 2 if look.onto else room is not None
    if not tabled:
        left_out = [*notes(results, bands=banded), NO_TABLE]
        words = around(look, finding, left_out, invented=invented)
        shown = key(look, [] if ends_named else names)
        below_in = shown.height_in
        room = panel_figure(look, words, below_in)
    if room is None:
        return said(look, finding, too_many(len(results)), invented=invented)
    figure, above_in = room
    table: Axes | None
    if look.onto:
        curves, table = look.onto[0], look.onto[-1]
    else:
        curves, table = with_strip(figure, look, above_in, below_in)
    last = max(1.0, *(row.day for each in results for row in each.kaplan_meier))
    dress(curves, look, grid="y")
    curves.set_xlim(0.0, last)
    curves.set_ylim(0.0, 1.04)
    round_numbers(curves.xaxis, look, look.width_in, whole=True)
    round_numbers(curves.yaxis, look, above_in)
    curves.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    for place, result in enumerate(results):
        _curve(curves, result, cohort_mark(place), look, banded=banded)
    if ends_named:
        ends = [
            LineEnd(each.kaplan_meier[-1].survival, name, cohort_mark(place))
            for place, (each, name) in enumerate(zip(results, names, strict=True))
        ]
        label_ends(curves, ends, look, above_in)
    what = f"Alive ({BAND})" if banded else "Alive"
    label_axes(curves, look, x=days_of(results), y=what)
    if tabled and table is not None:
        days = [day for day in curves.get_xticks() if 0 <= day <= last]
        table.set_xlim(0.0, last)
        _at_risk(table, results, look, days, strokes=not ends_named)
    else:
        draw_key(table, look, shown, markers=not banded)
    frame(figure, look, words)
    return figure


def _curve(axes: Axes, result: Survival, mark: CohortMark, look: Style, *, banded: bool) -> None:
    rows = result.kaplan_meier
    name = result.cohort
    axes.plot(
        [0.0, *(row.day for row in rows)],
        [1.0, *(row.survival for row in rows)],
        drawstyle="steps-post",
        color=mark.colour,
        linestyle=mark.dash,
        linewidth=1.6 * look.line_pt,
        marker="none" if banded else mark.marker,  # of many curves, dashes alone are too few
        markevery=MARKED,
        markersize=0.5 * look.text_pt,
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
    if banded:
        days, low, high = zip(*((row.day, row.low, row.high) for row in rows), strict=True)
        band(axes, days, low, high, mark.colour, f"band-{name}", step="post")
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


def _at_risk(
    axes: Axes,
    results: Sequence[Survival],
    look: Style,
    days: Sequence[float],
    *,
    strokes: bool,
) -> None:
    """How many were followed, cohort by cohort; with `strokes`, how its curve is drawn too."""
    dress(axes, look)
    axes.spines["bottom"].set_visible(False)
    axes.set_ylim(len(results) - 0.5, -0.5)
    axes.set_yticks(range(len(results)), [each.cohort for each in results])
    axes.tick_params(axis="x", length=0, labelbottom=False)
    axes.tick_params(axis="y", pad=(3.6 if strokes else 1.4) * look.small_pt)
    figure = axes.get_figure()
    assert figure is not None
    em = look.small_pt * PT
    beside = figure.dpi_scale_trans + ScaledTranslation(0, 0, axes.transAxes)  # type: ignore[arg-type]
    for y, result in enumerate(results):
        if strokes:
            where = blended_transform_factory(beside, axes.transData)
            ends = [-3.3 * em, -2.3 * em, -1.3 * em]
            marked = len(results) > MOST_AT_ENDS
            stroke = sample(look, cohort_mark(y), ends, [y] * 3, markers=marked, transform=where)
            axes.add_artist(stroke)
        for day in days:
            text = str(at_risk(result.kaplan_meier, day))
            write(axes, (day, y), text, look.small_pt, ha="center")
    subtitle(axes, look, "Number at risk", pad_pt=0.3 * look.small_pt)


def at_risk(rows: Sequence[KaplanMeierRow], day: float) -> int:
    """How many were followed up to a day: as the first row from that day on says; 0 after all."""
    return next((row.at_risk for row in rows if row.day >= day), 0)
