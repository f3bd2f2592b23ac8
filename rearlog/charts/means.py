"""The mean of a stage in many cohorts or sites, and what they say together."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from msgspec import Struct

from rearlog.analysis.pooling.pooled_stages import PooledStage
from rearlog.analysis.pooling.random_effects import SiteEffects
from rearlog.analysis.pooling.season import Season, SpeciesSeason
from rearlog.charts.names import longest_beside
from rearlog.charts.palette import ALARM, INK, MUTED, CohortMark
from rearlog.charts.panels import BELOW, with_strip
from rearlog.charts.points import reach, value_point
from rearlog.charts.style import (
    LINE,
    MARK,
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
)
from rearlog.records.wording import shortened_apart
from rearlog.sentences.season import NO_STAGE, notes, rows_shown, title

MOST_ROWS = 60
"""More rows than this are not read: sites stand for their cohorts, or those that stand out."""
ALL_TOGETHER = "all together"


class MeanRow(Struct, frozen=True):
    """One line of the chart: a cohort or a site, its mean in days, its limits, whether it stands
    out, and the temperature of a cohort in it, where that is known."""

    name: str
    mean: float
    low: float
    high: float
    out: bool
    celsius: float | None = None


def means(
    result: Season, look: Style = PAGE, *, stage: str | None = None, invented: bool = False
) -> Figure:
    """Draw the mean days of a stage (the whole development, unless named), a row a cohort, and the
    mean over all of them with where one more is expected.

    Of many cohorts a row stands for a site, or those alone are shown that stand out. Of several
    species it is the one with the most cohorts.
    """
    species = result.species[0]
    chosen = species.stage(stage)
    if chosen is None:
        return said(look, title(species, None), NO_STAGE, invented=invented)
    most = _most_rows(look)
    rows, shown = rows_of(result, species, chosen, most)
    words = around(look, title(species, chosen), notes(chosen, shown), invented=invented)
    count = len(rows) + 1
    beside_in = words.height_in + BELOW * look.em_in
    row_pt = min(1.8 * look.text_pt, (look.tallest_in - beside_in) / PT / count)
    high_in = max(count, 4) * row_pt * PT
    figure = new_figure(look, beside_in + high_in)
    axes, _ = with_strip(figure, look, high_in, 0.0)
    dress(axes, look, grid="x")
    for place, row in enumerate(rows):
        colour, kind = (ALARM, "out") if row.out else (INK, "mean")
        mark, bar = CohortMark(colour, "solid", "s"), reach(row.low, row.mean, row.high)
        value_point(axes, look, mark, row.mean, place, f"{kind}-{place}", size=MARK, xerr=bar)
    _together(axes, chosen, len(rows), look)
    size_pt = look.in_row(row_pt)
    names = shortened_apart([each.name for each in rows], longest_beside(look))
    labels = [f"{name}{warmth}" for name, warmth in zip(names, _warmths(rows), strict=True)]
    axes.set_yticks(range(count), [*labels, ALL_TOGETHER])
    axes.tick_params(axis="y", labelsize=size_pt)
    axes.set_ylim(count - 0.4, -0.6)
    round_numbers(axes.xaxis, look, look.width_in)
    label_axes(axes, look, x=f"Days, {chosen.stage}")
    frame(figure, look, words)
    return figure


def _most_rows(look: Style) -> int:
    """How many rows are legible in the greatest height, of which the words take about a third."""
    return max(1, min(MOST_ROWS, int(0.66 * look.tallest_in / PT / (LINE * look.least_pt)) - 1))


def rows_of(
    result: Season, species: SpeciesSeason, chosen: PooledStage, most: int
) -> tuple[list[MeanRow], str]:
    """The rows of a chart that has room for so many, from the least mean to the largest, and in
    words which they are."""
    out = {each.id for each in species.stand_out if each.stage == chosen.stage}
    used = [
        (each, found, found.interval)
        for each in result.cohorts
        if each.species == species.species
        for found in each.stages
        if found.stage == chosen.stage and found.weighed
    ]
    every = [
        (each.id, MeanRow(each.name, found.mean, *limits, each.id in out, found.celsius))
        for each, found, limits in used
        if limits is not None and found.mean is not None
    ]
    every.sort(key=lambda item: item[1].mean)
    best = chosen.best
    if len(every) <= most:
        red = any(row.out for _, row in every)
        return [row for _, row in every], rows_shown("cohort", len(every), chosen.cohorts, red=red)
    if isinstance(best, SiteEffects) and len(best.sites) <= most:
        names = {each.id: each.name for each in result.cohorts}
        rows = [
            MeanRow(names.get(each.site, each.site), each.mean, *each.interval, False)
            for each in sorted(best.sites, key=lambda each: each.mean)
        ]
        return rows, rows_shown("site", len(rows), chosen.cohorts)
    rows = [row for key, row in every if key in out]
    if len(rows) > most:  # the shortest and the longest of them
        rows = [*rows[: most // 2], *rows[len(rows) - (most - most // 2) :]]
    return rows, rows_shown("out", len(rows), chosen.cohorts)


def _warmths(rows: Sequence[MeanRow]) -> list[str]:
    """What stands behind the names of rows: their temperatures, where these differ."""
    told = ["" if row.celsius is None else f", {round(row.celsius, 1):g} °C" for row in rows]
    return told if len({*told} - {""}) > 1 else [""] * len(rows)


def _together(axes: Axes, chosen: PooledStage, place: int, look: Style) -> None:
    """The diamond of the mean, and the line on which one more cohort is expected."""
    best = chosen.best
    if best.predicted_low is not None and best.predicted_high is not None:
        ends = [max(0.0, best.predicted_low), best.predicted_high]
        (line,) = axes.plot(ends, [place, place], color=MUTED, linewidth=look.line_pt)
        line.set_gid("predicted")
    low, high = (best.mean if end is None else end for end in (best.low, best.high))
    (diamond,) = axes.fill(
        [max(0.0, low), best.mean, high, best.mean],
        [place, place - 0.35, place, place + 0.35],
        color=INK,
        zorder=4,
    )
    diamond.set_gid("together")
    axes.axvline(best.mean, color=MUTED, linewidth=0.5 * look.line_pt, linestyle=(0, (2, 2)))
