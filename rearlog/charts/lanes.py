"""When events were expected, and when half had come: a bracket and a mark in a lane for each event.

Events are told apart by lane and dash, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import nan
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patheffects import withStroke
from matplotlib.transforms import ScaledTranslation
from msgspec import Struct

from rearlog.analysis.stages.progress import ExpectedEvent
from rearlog.charts.palette import INK, MUTED, PAPER
from rearlog.charts.style import CHARACTER, PT, Style, write

Dash = tuple[int, tuple[float, ...]] | Literal["solid"]
DASHES: dict[str, Dash] = {
    "hatch": (0, (1.1, 1.3)),
    "pupation": (0, (4.0, 1.6)),
    "eclosion": "solid",
}
"""How events are drawn; `sentences.expected.DRAWN` says it."""
NAMED, BARE = 1.2, 0.5
"""Height of a lane in parts of the small text's size: with the event's name, and without."""


class Lanes(Struct, frozen=True):
    """The lanes above a panel; `height_pt` is what they take."""

    events: tuple[ExpectedEvent, ...]
    named: bool
    lane_pt: float

    @property
    def height_pt(self) -> float:
        """What all lanes take of the height."""
        return (len(self.events) + 0.3) * self.lane_pt if self.events else 0.0


def room_for_lanes(look: Style, events: Sequence[ExpectedEvent], room_pt: float) -> bool:
    """Whether lanes leave enough of a room for what is below them; there is none above axes that
    somebody gave."""
    return not look.onto and (len(events) + 0.3) * BARE * look.small_pt < 0.45 * room_pt


def lanes(look: Style, events: Sequence[ExpectedEvent], room_pt: float) -> Lanes:
    """Lanes with the events' names where these leave most of the room to the panel."""
    named = len(events) * NAMED * look.small_pt < 0.3 * room_pt
    return Lanes(tuple(events), named, (NAMED if named else BARE) * look.small_pt)


def draw_lanes(
    axes: Axes,
    look: Style,
    shown: Lanes,
    place: Callable[[float], float],
    name: str,
    width_in: float,
    *,
    through: bool,
) -> None:
    """Draw lanes above axes whose limits are set; `place` puts a day since zero on their x axis.

    With `through`, the ends of each bracket run down through the panel, over what is drawn there.
    """
    figure = axes.get_figure()
    assert figure is not None
    left, right = axes.get_xlim()
    day_pt = width_in / PT / (right - left)
    for lane, event in enumerate(reversed(shown.events)):
        dash = DASHES[event.event]
        above = (lane + 0.55) * shown.lane_pt
        lifted = axes.get_xaxis_transform() + ScaledTranslation(
            0, above * PT, figure.dpi_scale_trans
        )
        low, high = place(event.earliest), place(event.latest)
        bracket = Line2D(
            [low, high],
            [1.0, 1.0],
            color=MUTED,
            linestyle=dash,
            linewidth=0.9 * look.line_pt,
            marker="|",
            markersize=0.45 * look.small_pt,
            markeredgewidth=0.9 * look.line_pt,
            gid=f"expected-{name}-{event.stage}",
        )
        marks = [low, high]
        drawn = [bracket]
        if event.half_came is not None:
            marks.append(place(event.half_came))
            half = Line2D(
                marks[2:],
                [1.0],
                color=INK,
                marker="o",
                markersize=0.42 * look.small_pt,
                markeredgewidth=0.0,
                gid=f"half-{name}-{event.stage}",
            )
            drawn.append(half)
        for each in drawn:
            each.set(transform=lifted, clip_on=False, zorder=4, in_layout=False)
            axes.add_artist(each)
        _edges(axes, look, (low, high), dash, over=through)
        if shown.named:
            _name(axes, look, event.event, (min(marks), max(marks)), day_pt, above)


def _edges(axes: Axes, look: Style, ends: tuple[float, float], dash: Dash, *, over: bool) -> None:
    low, high = ends
    edges = Line2D(
        [low, low, nan, high, high],
        [0.0, 1.0, nan, 0.0, 1.0],
        color=MUTED,
        linestyle=dash,
        linewidth=0.6 * look.line_pt,
        transform=axes.get_xaxis_transform(),
        zorder=3 if over else 1,
        in_layout=False,
    )
    if over:  # a white edge keeps them visible on dark stages
        edges.set_path_effects([withStroke(linewidth=1.3 * look.line_pt, foreground=PAPER)])
    axes.add_artist(edges)


def _name(
    axes: Axes,
    look: Style,
    event: str,
    ends: tuple[float, float],
    day_pt: float,
    above: float,
) -> None:
    """The event's name before its bracket or, where that begins too early, behind it."""
    left, right = axes.get_xlim()
    gap = 0.5 * look.small_pt
    width = len(event) * CHARACTER * look.small_pt + gap
    before = (ends[0] - left) * day_pt > width or (right - ends[1]) * day_pt < width
    write(
        axes,
        (ends[0] if before else ends[1], 1.0),
        event,
        look.small_pt,
        MUTED,
        ha="right" if before else "left",
        italic=True,
        right_pt=-gap if before else gap,
        above_pt=above,
        over="x",
        fixed=True,
    )
