"""How long each stage took, beside the expected range, for one cohort or several side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rearlog.analysis.stages.durations import Durations, StageDuration
from rearlog.analysis.stages.stage_times import StageOutcome
from rearlog.charts.palette import MUTED, PALE, PAPER, CohortMark, cohort_mark
from rearlog.charts.style import (
    LINE,
    LONGEST_NAME,
    PAGE,
    Style,
    dress,
    frame,
    label_axes,
    new_figure,
    notes_text,
    say_nothing_to_draw,
    write,
)
from rearlog.records.entries import shortened
from rearlog.sentences.durations import notes, title

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
    stages = _stages(results)
    if not any(each.completed or each.expected for one in results for each in one.stages):
        figure = new_figure(look, 0.6 * look.height_in)
        say_nothing_to_draw(figure.subplots(), look, "A stage counts when it was seen to end.")
        frame(figure, look, title(results), (), invented=invented)
        return figure
    below = notes(results)
    rows = len(stages) * (len(results) + BETWEEN_STAGES)
    lines = notes_text(look, below, invented=invented).count("\n") + 1
    beside_in = (8.0 + LINE * lines) * look.text_pt / 72
    row_pt = min(
        (2.6 if len(results) == 1 else 1.7) * look.text_pt,
        (look.tallest_in - beside_in) * 72 / rows,
    )
    figure = new_figure(look, max(0.6 * look.height_in, beside_in + rows * row_pt / 72))
    axes = figure.subplots()
    dress(axes, look, grid="x")
    _Rows(axes, results, look, row_pt).draw(stages)
    label_axes(axes, look, x="Days in the stage")
    frame(figure, look, title(results), below, invented=invented)
    return figure


def _stages(results: Sequence[Durations]) -> list[str]:
    return list(dict.fromkeys(each.stage for result in results for each in result.stages))


class _Rows:
    """The rows of the chart; y counts rows downwards."""

    def __init__(
        self, axes: Axes, results: Sequence[Durations], look: Style, row_pt: float
    ) -> None:
        self.axes, self.results, self.look, self.row_pt = axes, results, look, row_pt
        self.counts = [_counts(result) for result in results]
        self.most = max(max(each.values(), default=1) for each in self.counts)

    def draw(self, stages: Sequence[str]) -> None:
        per_stage = len(self.results) + BETWEEN_STAGES
        for block, stage in enumerate(stages):
            for place, result in enumerate(self.results):
                found = next((each for each in result.stages if each.stage == stage), None)
                if found is not None:
                    self._row(block * per_stage + place, found, place, first=block == 0)
        middle = (len(self.results) - 1) / 2
        ticks = [block * per_stage + middle for block in range(len(stages))]
        self.axes.set_yticks(ticks, stages)
        self.axes.set_ylim(len(stages) * per_stage - 0.5, -0.75)
        self.axes.autoscale_view()
        self.axes.set_xlim(left=0.0)
        self.axes.tick_params(axis="y", labelsize=self.look.text_pt)

    def _row(self, y: float, each: StageDuration, place: int, *, first: bool) -> None:
        mark = cohort_mark(place)
        if each.expected is not None:
            low, high = each.expected
            box = Rectangle(
                (low, y - 0.46),
                high - low,
                0.92,
                facecolor=PALE,
                edgecolor=MUTED,
                linewidth=0.4 * self.look.line_pt,
                zorder=1,
                gid=f"expected-{self.results[place].cohort}-{each.stage}",
            )
            self.axes.add_patch(box)
        self._marks(y, each, place, mark)
        self._median(y, each, place, mark)
        name = (
            f"{shortened(self.results[place].cohort, LONGEST_NAME)}, "
            if first and len(self.results) > 1
            else ""
        )
        write(
            self.axes,
            (1.0, y),
            f"{name}n = {each.completed}",
            min(self.look.small_pt, 0.9 * self.row_pt),
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
