"""The names of cohorts, told apart by dash and marker: at the ends of their lines, or in a key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.transforms import Transform, blended_transform_factory
from msgspec import Struct

from rearlog.charts.palette import HATCHING, INK, MUTED, CohortMark, cohort_mark, text_on
from rearlog.charts.style import CHARACTER, LINE, MARK, PT, SANS, Style, write

MOST_AT_ENDS = 4
"""More lines than this are named in a key below: beside their ends, names would hide whose end."""
WIDEST = 0.2
"""Names at the ends of lines take at most this part of the width."""
SAMPLE = 3.2
"""Length of a stroke of the key in parts of the text's size."""


class LineEnd(Struct, frozen=True):
    """Where a line ends on y, its name, and how it is drawn."""

    y: float
    name: str
    mark: CohortMark


def at_ends(look: Style, names: Sequence[str]) -> bool:
    """Whether lines are named at their ends; otherwise a key names them, as always in axes that
    somebody gave: what stands beside these is not ours."""
    if look.onto:
        return False
    beside = 2.6 + max(map(len, names)) * CHARACTER
    return len(names) <= MOST_AT_ENDS and beside < WIDEST * look.width_in / look.em_in


def label_ends(axes: Axes, ends: Sequence[LineEnd], look: Style, axes_in: float) -> None:
    """Name lines at the right edge, each behind a stroke of its own dash, none over another.

    The limits of both axes must be set; `axes_in` is about how high they are.
    """
    bottom, top = axes.get_ylim()
    step = LINE * look.text_pt / (axes_in / PT) * (top - bottom)
    ascending = sorted(ends, key=lambda each: each.y)
    for end, y in zip(ascending, apart([each.y for each in ascending], step, top), strict=True):
        axes.annotate(
            end.name,
            (1.0, y),
            (2.6 * look.text_pt, 0),
            xycoords=axes.get_yaxis_transform(),
            textcoords="offset points",
            va="center",
            fontsize=look.text_pt,
            fontfamily=SANS,
            color=INK,
            parse_math=False,
            arrowprops={
                "arrowstyle": "-",
                "color": end.mark.colour,
                "linestyle": end.mark.dash,
                "linewidth": 1.6 * look.line_pt,
                "shrinkA": 0.3 * look.text_pt,
                "shrinkB": 0.3 * look.text_pt,
            },
        )


def apart(heights: Sequence[float], step: float, top: float) -> list[float]:
    """Ascending heights, at least a step apart: moved up, and back down below the top."""
    risen: list[float] = []
    for height in heights:
        risen.append(max(height, risen[-1] + step) if risen else height)
    lowered: list[float] = []
    for height in reversed(risen):
        lowered.append(min(height, lowered[-1] - step if lowered else top))
    return lowered[::-1]


class Key(Struct, frozen=True):
    """Names of cohorts in columns below a chart; `height_in` is what it takes."""

    names: tuple[str, ...]
    rows: int
    column_in: float
    height_in: float


def key(look: Style, names: Sequence[str]) -> Key:
    """Lay a key out: as many columns as fit the width; of no names it takes no height."""
    longest = max(names, key=len, default="")
    one_pt = (SAMPLE + 1.2) * look.text_pt + len(longest) * CHARACTER * look.small_pt
    return _in_columns(look, names, one_pt, 1.35 * look.small_pt)


def draw_key(
    axes: Axes | None,
    look: Style,
    shown: Key,
    marks: Sequence[CohortMark] | None = None,
    *,
    markers: bool = True,
    lines: bool = True,
) -> None:
    """Draw a key into axes of its own, from the left edge of the figure on; as a legend into axes
    that somebody gave; not at all where it has no axes.

    `marks` are those of the names, unless these are cohorts in their order.
    """
    if axes is None:
        return
    own = [cohort_mark(place) for place in range(len(shown.names))] if marks is None else marks
    named = list(zip(shown.names, own, strict=True))
    kinds: dict[str, Any] = {"markers": markers, "lines": lines}
    if look.onto:
        strokes = [sample(look, mark, [], [], label=name, **kinds) for name, mark in named]
        _legend(axes, look, strokes)
        return
    where = _beside_figure(axes)
    em = look.em_in
    for place, (name, mark) in enumerate(named):
        height = 1 - (place % shown.rows + 0.5) / shown.rows
        left = em + place // shown.rows * shown.column_in
        ends = [left, left + SAMPLE * em / 2, left + SAMPLE * em]
        axes.add_artist(sample(look, mark, ends, [height] * 3, transform=where, **kinds))
        behind = (left + (SAMPLE + 0.5) * em, height)
        write(axes, behind, name, look.small_pt, over=where, fixed=True)


def sample(
    look: Style,
    mark: CohortMark,
    x: Sequence[float],
    y: Sequence[float],
    *,
    markers: bool = True,
    lines: bool = True,
    **more: Any,
) -> Line2D:
    """A stroke through three points that shows how a cohort is drawn, with its marker on it."""
    return Line2D(
        x,
        y,
        color=mark.colour,
        linestyle=mark.dash if lines else "none",
        linewidth=1.6 * look.line_pt,
        marker=mark.marker if markers else "none",
        markersize=MARK * look.text_pt,
        markevery=[1],
        clip_on=False,
        in_layout=False,
        **more,
    )


def _beside_figure(axes: Axes) -> Transform:
    """Empty axes, and where things stand in them: in inches from the left edge of the figure, and
    in parts of the height."""
    axes.set_axis_off()
    axes.set_navigate(False)
    figure = axes.get_figure()
    assert figure is not None
    return blended_transform_factory(figure.dpi_scale_trans, axes.transAxes)


def _legend(axes: Axes, look: Style, samples: Sequence[Artist], **where: Any) -> None:
    axes.legend(handles=samples, fontsize=look.small_pt, frameon=False, labelcolor=INK, **where)


def swatch_key(look: Style, names: Sequence[str]) -> Key:
    """Lay out a key of coloured fields with the names of stages in them."""
    one_pt = max(map(len, names)) * 0.66 * look.small_pt + 1.1 * look.small_pt
    return _in_columns(look, names, one_pt, 1.6 * look.small_pt)


def _in_columns(look: Style, names: Sequence[str], one_pt: float, row_pt: float) -> Key:
    """As many columns of so many points as fit, and as few rows of so many."""
    columns = max(1, min(len(names), int((look.width_in / PT - 2 * look.text_pt) / one_pt)))
    rows = ceil(len(names) / columns)
    return Key(tuple(names), rows, one_pt * PT, row_pt * rows * PT)


def draw_swatches(
    axes: Axes | None,
    look: Style,
    shown: Key,
    colours: Mapping[str, str],
    hatches: Mapping[str, str] | None = None,
) -> None:
    """Draw fields in these colours into axes of their own, read along the rows; as a legend into
    axes that somebody gave. `hatches` are those of some."""
    if axes is None:
        return
    hatched = hatches or {}
    if look.onto:
        fields = [Patch(label=name, **_field(name, colours, hatched)) for name in shown.names]
        # beside the fields, which fill the axes
        _legend(axes, look, fields, loc="upper left", bbox_to_anchor=(1.0, 1.0))
        return
    where = _beside_figure(axes)
    columns = ceil(len(shown.names) / shown.rows)
    for place, name in enumerate(shown.names):
        x = look.em_in + (place % columns + 0.5) * shown.column_in
        y = 1 - (place // columns + 0.5) / shown.rows
        colour = text_on(colours[name])
        field = write(
            axes, (x, y), name, look.small_pt, colour, ha="center", over=where, fixed=True
        )
        field.set_bbox({**_field(name, colours, hatched), "pad": 1.8})


def _field(name: str, colours: Mapping[str, str], hatches: Mapping[str, str]) -> dict[str, Any]:
    """How the field of a name is filled."""
    return {
        "facecolor": colours[name],
        "edgecolor": HATCHING if name in hatches else MUTED,
        "hatch": hatches.get(name),
        "linewidth": 0.3,
    }
