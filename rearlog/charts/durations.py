"""How long each stage took, beside the expected range, for one cohort or several side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from msgspec import Struct

from rearlog.analysis.stages.durations import Durations, StageDuration
from rearlog.analysis.stages.stage_times import StageOutcome
from rearlog.charts.keys import draw_key, key
from rearlog.charts.names import called
from rearlog.charts.palette import MUTED, PALE, PAPER, CohortMark, cohort_mark
from rearlog.charts.panels import BELOW, PanelGrid, panels
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
from rearlog.sentences.durations import NO_COUNTS, notes, title
from rearlog.sentences.phrases import too_many

BIN_DAYS = 0.5
"""With a check a day, midpoint durations differ by halves of a day."""
BETWEEN_STAGES = 0.5
"""Room between two stages, in rows."""


def durations(
    results: Sequence[Durations], look: Style = PAGE, *, invented: bool = False
) -> Figure:
    """Draw the durations of all stages, a block a stage and in it a row a cohort.

    Marks stand for completed durations (midpoints, area by number; hollow where certainly
    outside the expected range), the bar for where the median lies when deaths and the living are
    counted, the thin line for the limits of the median of all such individuals, the box behind for
    the expected range.
    """
    finding, results = title(results), called(results)
    stages = _stages(results)
    if not any(each.completed or each.expected for one in results for each in one.stages):
        text = "A stage counts when it was seen to end."
        return said(look, finding, text, invented=invented)
    below = key(look, [each.cohort for each in results] if len(results) > 1 else [])
    words = around(look, finding, notes(results), invented=invented)
    layout = _columns(look, len(stages), len(results), words.height_in + below.height_in)
    if not layout.counted:
        told = [*notes(results), NO_COUNTS]
        words = around(look, finding, told, invented=invented)
    if layout.row_pt < LEAST_ROW * look.text_pt:
        return said(look, finding, too_many(len(results)), invented=invented)
    per_column = ceil(len(stages) / layout.columns)
    rows = per_column * (len(results) + BETWEEN_STAGES)
    high_in = max(rows * layout.row_pt, 5 * look.text_pt) * PT
    taken_in = words.height_in + below.height_in + BELOW * look.em_in + high_in
    figure = new_figure(look, min(look.tallest_in, max(taken_in, 0.6 * look.height_in)))
    wide_in = look.width_in / layout.columns
    shape = PanelGrid(1, layout.columns, wide_in)
    every, strip = panels(figure, look, shape, layout.columns, [high_in], below.height_in)
    longest = 0.0
    for column, axes in enumerate(every):
        dress(axes, look, grid="x")
        own = stages[column * per_column : (column + 1) * per_column]
        drawn = _Rows(axes, results, look, layout)
        drawn.draw(own, per_column)
        longest = max(longest, axes.get_xlim()[1])
    for column, axes in enumerate(every):
        axes.set_xlim(0.0, longest)
        round_numbers(axes.xaxis, look, wide_in)
        if not column:
            label_axes(axes, look, x="Days in the stage")
    draw_key(strip, look, below, lines=False)
    frame(figure, look, words)
    return figure


LEAST_ROW = 0.22
"""Rows are at least so many times the text's size high; with less they are not drawn."""
LEAST_COLUMN = 13.0
"""A column of stages is at least so many times the text's size wide."""


class _StageColumns(Struct, frozen=True):
    """How the stages stand: in how many columns, how high a row is, and whether there is room for
    the number of individuals behind it."""

    columns: int
    row_pt: float
    counted: bool


def _columns(look: Style, stages: int, cohorts: int, words_in: float) -> _StageColumns:
    """The fewest columns in which numbers stand behind rows; as many as there may be if in none."""
    free_pt = (look.tallest_in - words_in) / PT - BELOW * look.text_pt
    usual = (2.6 if cohorts == 1 else 1.7) * look.text_pt
    most = max(1, min(stages, int(look.width_in / look.em_in / LEAST_COLUMN)))
    most = len(look.onto) or most
    for columns in range(1, most + 1):
        rows = ceil(stages / columns) * (cohorts + BETWEEN_STAGES)
        row_pt = min(usual, free_pt / rows)
        counted = row_pt >= LINE * look.least_pt
        if counted:
            break
    return _StageColumns(columns, row_pt, counted)


def _stages(results: Sequence[Durations]) -> list[str]:
    return list(dict.fromkeys(each.stage for result in results for each in result.stages))


class _Rows:
    """The rows of a column; y counts rows downwards."""

    def __init__(
        self, axes: Axes, results: Sequence[Durations], look: Style, layout: _StageColumns
    ) -> None:
        self.axes, self.results, self.look = axes, results, look
        self.row_pt, self.counted = layout.row_pt, layout.counted
        self.counts = [_counts(result) for result in results]
        self.most = max(max(each.values(), default=1) for each in self.counts)

    def draw(self, stages: Sequence[str], room: int) -> None:
        """Draw some stages from the top, in a column that has room for so many."""
        per_stage = len(self.results) + BETWEEN_STAGES
        for block, stage in enumerate(stages):
            for place, result in enumerate(self.results):
                found = next((each for each in result.stages if each.stage == stage), None)
                if found is not None:
                    self._row(block * per_stage + place, found, place)
        middle = (len(self.results) - 1) / 2
        ticks = [block * per_stage + middle for block in range(len(stages))]
        self.axes.set_yticks(ticks, stages)
        self.axes.set_ylim(room * per_stage - 0.5, -0.75)
        self.axes.autoscale_view()
        self.axes.tick_params(axis="y", labelsize=self.look.text_pt)

    def _row(self, y: float, each: StageDuration, place: int) -> None:
        mark = cohort_mark(place)
        if each.expected is not None:
            low, high = each.expected
            box = Rectangle(
                (low, y - 0.46),
                high - low,
                0.92,
                facecolor=PALE,
                edgecolor=MUTED,
                linewidth=min(0.8, 0.1 * self.row_pt) * self.look.line_pt,
                zorder=1,
                gid=f"expected-{self.results[place].cohort}-{each.stage}",
            )
            self.axes.add_patch(box)
        self._marks(y, each, place, mark)
        self._median(y, each, place, mark)
        if self.counted:
            write(
                self.axes,
                (1.0, y),
                f"n = {each.completed}",
                self.look.in_row(self.row_pt),
                right_pt=0.6 * self.look.text_pt,
                over="y",
            )

    def _marks(self, y: float, each: StageDuration, place: int, mark: CohortMark) -> None:
        for (stage, days, outside), count in sorted(self.counts[place].items()):
            if stage == each.stage:
                kind = "outside" if outside else "within"
                self.axes.plot(
                    [days],
                    [y - 0.06],
                    linestyle="none",
                    marker=mark.marker,
                    markersize=max(2.0, 0.72 * self.row_pt * (count / self.most) ** 0.5),
                    markerfacecolor=PAPER if outside else mark.colour,
                    markeredgecolor=mark.colour,
                    markeredgewidth=0.8 * self.look.line_pt,
                    alpha=0.8,
                    zorder=2,
                    clip_on=False,
                    gid=f"{kind}-{self.results[place].cohort}-{stage}-{days:g}",
                )

    def _median(self, y: float, each: StageDuration, place: int, mark: CohortMark) -> None:
        name = f"{self.results[place].cohort}-{each.stage}"
        lines = (("median", each.median_bounds, 2.2), ("limits", each.median_limits, 0.7))
        for kind, ends, width in lines:
            if ends is not None:
                low, high = ends
                self.axes.plot(
                    [low, low if high is None else high],
                    [y + 0.38] * 2,
                    color=mark.colour,
                    linewidth=width * self.look.line_pt,
                    solid_capstyle="butt",
                    marker="|",
                    markersize=0.35 * self.look.text_pt,
                    zorder=3,
                    gid=f"{kind}-{name}",
                )


def _counts(result: Durations) -> Counter[tuple[str, float, bool]]:
    """How many completed a stage in about so many days, apart for those outside the range."""
    return Counter(
        (each.stage, round(each.days / BIN_DAYS) * BIN_DAYS, each.outside is not None)
        for each in result.individuals
        if each.outcome == StageOutcome.COMPLETED and each.days is not None
    )
