"""The rows of the progress chart: one cohort drawn into its axes, from the back to the front."""

from __future__ import annotations

from itertools import groupby, pairwise

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from rearlog.analysis.stages.progress import Ending, IndividualProgress, Progress
from rearlog.charts.individuals import of_individuals
from rearlog.charts.keys import apart
from rearlog.charts.lanes import Lanes, draw_lanes
from rearlog.charts.palette import FATES, INK, MUTED, PAPER, stage_colours, text_on
from rearlog.charts.panels import PanelGrid
from rearlog.charts.style import CHARACTER, LINE, PT, Style, day_number_after, dress, write
from rearlog.records.wording import shortened_apart

SPAN_HEIGHT = 0.66
"""Height of a span in parts of its row."""
TOUCHING = 0.45
"""Rows lower than this part of the text's size touch: a gap would only blur them."""

LONGEST_CODE = 10
"""The codes of individuals are shortened to this many characters."""

SIGNS = {
    Ending.REACHED: "",
    Ending.DEVELOPING: "+",
    Ending.DIED: "×",
    Ending.LOST: "?",
    Ending.REMOVED: "▷",
}
"""What stands before the number of a group where there is no room for words."""

Point = tuple[float, float]


def mark_text(individual: IndividualProgress) -> str:
    """Which of its stages were certainly outside the expected range; empty for none."""
    return ", ".join(f"{each.stage} {each.outside}" for each in individual.spans if each.outside)


def slanted(individual: IndividualProgress, top: float, bottom: float) -> list[list[Point]]:
    """The four corners of each of its spans, in days since zero, between two heights.

    A boundary runs from its earliest moment at the top to its latest at the bottom. Boundaries
    between the same two checks share that time between them, in order.
    """
    bounds = [(each.begin_low, each.begin_high) for each in individual.spans]
    bounds.append((individual.spans[-1].end_low, individual.spans[-1].end_high))
    edges: list[Point] = []
    for (low, high), group in groupby(bounds):
        count = len(list(group))
        step = (high - low) / count
        edges += [(low + step * place, low + step * (place + 1)) for place in range(count)]
    return [
        [(left[0], top), (right[0], top), (right[1], bottom), (left[1], bottom)]
        for left, right in pairwise(edges)
    ]


def _patch(quadrilaterals: list[list[Point]]) -> PathPatch:
    """Many quadrilaterals as one artist: a thousand rows stay quick to draw and small to keep."""
    vertices = [point for each in quadrilaterals for point in (*each, each[0])]
    codes = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    return PathPatch(Path(vertices, codes * len(quadrilaterals)))


class Rows:
    """The individuals of one cohort as rows: `y` is 0 for the first and grows downwards."""

    def __init__(
        self,
        axes: Axes,
        result: Progress,
        look: Style,
        layout: PanelGrid,
        high_pt: float,
        row_pt: float,
        *,
        labelled: bool,
    ) -> None:
        self.axes, self.result, self.look = axes, result, look
        self.labelled, self.high_pt, self.row_pt = labelled, high_pt, row_pt
        self.width_in, self.brief = layout.inner_in, layout.brief
        self.touching = row_pt < TOUCHING * look.text_pt
        self.name = result.cohort
        self.colours = stage_colours(result.stages)
        self.half = 0.5 if self.touching else SPAN_HEIGHT / 2
        self.rows: list[tuple[float, IndividualProgress]] = []
        self.labels: list[tuple[float, str]] = []
        (self._one_by_one if labelled else self._grouped)()

    def _one_by_one(self) -> None:
        self.rows = [(float(row), each) for row, each in enumerate(self.result.individuals)]
        self.labels = [(y, each.individual) for y, each in self.rows]

    def _grouped(self) -> None:
        by_code = {each.individual: each for each in self.result.individuals}
        gap = max(0.025 * len(by_code), 0.4 * self.look.text_pt / self.row_pt)
        top = 0.0
        for group in self.result.groups:
            size = len(group.individuals)
            self.rows += [(top + row, by_code[code]) for row, code in enumerate(group.individuals)]
            name = self.result.last_stage if group.name is Ending.REACHED else group.name
            name = SIGNS[group.name] if self.brief else f"{name} "
            self.labels.append((top + (size - 1) / 2, f"{name}{size}"))
            top += size + gap

    def draw(self, above: Lanes) -> None:
        """Draw everything, on a date axis that is set already, and what was expected above it."""
        dress(self.axes, self.look)
        self.axes.set_ylim(self.rows[-1][0] + 0.75, -0.75)
        draw_lanes(
            self.axes,
            self.look,
            above,
            self._place,
            self.name,
            self.width_in,
            through=self.touching,
        )
        self._spans()
        self._stage_labels()
        self._fates()
        self._outside()
        self._row_labels()

    def outline(self, place: int) -> None:
        """Lay an outline around each row that shows nothing, for a page to find the individual by;
        the cohort stands at a place among all."""
        left, right = self.axes.get_xlim()
        rows = _patch(
            [
                [(left, y - 0.5), (right, y - 0.5), (right, y + 0.5), (left, y + 0.5)]
                for y, _ in self.rows
            ]
        )
        codes = [each.individual for _, each in self.rows]
        name = of_individuals("row", place, codes)
        rows.set(gid=name, facecolor="none", edgecolor="none", linewidth=0.0, zorder=6)
        self._add(rows)

    def _place(self, day: float) -> float:
        """Where a day since zero lies on the date axis."""
        return day_number_after(self.result.clock, day)

    def _add(self, artist: Artist) -> None:
        artist.set_in_layout(False)
        self.axes.add_artist(artist)

    def _corners(self, y: float, individual: IndividualProgress) -> list[list[Point]]:
        spans = slanted(individual, y - self.half, y + self.half)
        return [[(self._place(day), height) for day, height in each] for each in spans]

    def _spans(self) -> None:
        by_stage: dict[str, list[list[Point]]] = {stage: [] for stage in self.colours}
        for y, individual in self.rows:
            corners = self._corners(y, individual)
            for span, each in zip(individual.spans, corners, strict=True):
                by_stage[span.stage].append(each)
        for stage, quadrilaterals in by_stage.items():
            if quadrilaterals:
                patch = _patch(quadrilaterals)
                patch.set(
                    gid=f"stage-{self.name}-{stage}",
                    facecolor=self.colours[stage],
                    edgecolor="none" if self.touching else MUTED,
                    linewidth=0.3 * self.look.line_pt,
                    zorder=2,
                )
                self._add(patch)

    def _stage_labels(self) -> None:
        """Name the stages in their spans, where rows are high enough for it."""
        size = max(0.8 * self.look.small_pt, self.look.least_pt)
        if LINE * size <= SPAN_HEIGHT * self.row_pt:
            for y, individual in self.rows:
                self._name_spans(y, individual, size)

    def _name_spans(self, y: float, individual: IndividualProgress, size_pt: float) -> None:
        """Write the names of stages where there is room."""
        left, right = self.axes.get_xlim()
        day_pt = self.width_in / PT / (right - left)
        for span, corners in zip(individual.spans, self._corners(y, individual), strict=True):
            width = (corners[1][0] + corners[2][0] - corners[0][0] - corners[3][0]) / 2
            if width * day_pt > 0.62 * size_pt * len(span.stage):
                middle = (sum(day for day, _ in corners) / 4, y)
                colour = text_on(self.colours[span.stage])
                write(self.axes, middle, span.stage, size_pt, colour, ha="center", fixed=True)

    def _fates(self) -> None:
        text_pt = self.look.text_pt
        size = min(max(0.42 * self.row_pt, 0.25 * text_pt), 0.7 * text_pt)
        left, right = self.axes.get_xlim()
        shift = (right - left) * 0.6 * size * PT / self.width_in
        for fate, mark in FATES.items():
            found = [(y, each.spans[-1].end_high) for y, each in self.rows if each.fate == fate]
            if found:
                self.axes.plot(
                    [self._place(day) + shift for _, day in found],
                    [y for y, _ in found],
                    gid=f"fate-{self.name}-{fate}",
                    linestyle="none",
                    marker=mark.marker,
                    markersize=size,
                    markerfacecolor=mark.colour if mark.filled else PAPER,
                    markeredgecolor=mark.colour,
                    markeredgewidth=min(0.7 * self.look.line_pt, 0.25 * size),
                    zorder=4,
                )

    def _outside(self) -> None:
        marked = [(y, each) for y, each in self.rows if mark_text(each)]
        if not marked:
            return
        left, right = self.axes.get_xlim()
        day_pt = self.width_in / PT / (right - left)
        words_fit = all(
            (right - self._place(each.spans[-1].end_high)) * day_pt
            > (len(mark_text(each)) + 3) * CHARACTER * self.look.small_pt
            for _, each in marked
        )
        if not self.labelled or not words_fit:
            self.axes.plot(
                [0.995] * len(marked),
                [y for y, _ in marked],
                transform=self.axes.get_yaxis_transform(),
                gid=f"outside-{self.name}",
                linestyle="none",
                marker="<",
                markersize=0.3 * self.look.text_pt,
                markerfacecolor=PAPER,
                markeredgecolor=INK,
                markeredgewidth=0.3 * self.look.line_pt,
            )
            return
        outlined = []
        size = max(self.look.least_pt, min(self.look.small_pt, 0.9 * self.row_pt))
        for y, individual in marked:
            corners = self._corners(y, individual)
            outlined += [
                each for span, each in zip(individual.spans, corners, strict=True) if span.outside
            ]
            end = self._place(individual.spans[-1].end_high)
            write(self.axes, (end, y), f"    {mark_text(individual)}", size, fixed=True)
        patch = _patch(outlined)
        patch.set(
            gid=f"outside-{self.name}",
            facecolor="none",
            edgecolor=INK,
            linewidth=self.look.line_pt,
            zorder=3,
        )
        self._add(patch)

    def _row_labels(self) -> None:
        size = self.look.small_pt
        if self.labelled:
            size = min(size, max(0.9 * self.row_pt, self.look.least_pt))
            texts = shortened_apart([text for _, text in self.labels], LONGEST_CODE)
            places = [y for y, _ in self.labels]
        else:
            places, texts = self._room_for_groups()
        self.axes.set_yticks(places, texts)
        self.axes.tick_params(axis="y", labelsize=size)

    def _room_for_groups(self) -> tuple[list[float], tuple[str, ...]]:
        """Where the names of groups stand, none over another; the smallest groups go without where
        there is no room: their marks tell what became of them."""
        top, bottom = -0.75, self.rows[-1][0] + 0.75
        step = LINE * self.look.small_pt * (bottom - top) / (0.9 * self.high_pt)
        most = max(1, int((bottom - top) / step))
        sizes = [len(group.individuals) for group in self.result.groups]
        largest = sorted(range(len(sizes)), key=lambda place: -sizes[place])[:most]
        kept = [self.labels[place] for place in sorted(largest)]
        places = apart([y for y, _ in kept], step, bottom - 0.5 * step)
        return places, tuple(text for _, text in kept)
