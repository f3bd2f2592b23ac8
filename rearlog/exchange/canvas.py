"""A page to draw on: text, lines and shades in millimetres from the upper left corner."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, Literal

from rearlog.drawings.strokes import Curve, Ink, Shape

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties
    from matplotlib.path import Path

MM_PER_INCH, POINTS_PER_INCH = 25.4, 72.0
_FONT = "DejaVu Sans"  # comes with matplotlib: the same on every machine
_NO_SUCH_LETTER = "□"
_INK, _MUTED, _LINE = "#1a1a1a", "#4d4d4d", "#9a9a9a"
_BODY, _TONE = "#eeeeee", "#a6a6a6"
_SPARED = 0.98
"""Of the width of a line: letters that are fitted to the dots of a screen are a little wider."""


class Canvas:
    """A matplotlib figure of `width` × `height` mm.

    What is drawn is added as it is (`add_artist`): the limits are fixed, and to ask each shape for
    its own would take longer than all else.
    """

    def __init__(self, width: float, height: float) -> None:
        from matplotlib.figure import Figure  # start-up time

        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH), facecolor="white")
        self._axes = self.figure.add_axes((0, 0, 1, 1), xlim=(0, width), ylim=(height, 0))
        self._axes.set_axis_off()

    def text(
        self,
        x: float,
        y: float,
        words: str,
        points: float,
        *,
        width: float | None = None,
        align: Literal["left", "center", "right"] = "left",
        bold: bool = False,
        muted: bool = False,
    ) -> None:
        """Write words with their middle at `y`; cut them where they are wider than `width`.

        Letters that the font does not have become □.
        """
        drawn = _drawn(words, bold)
        self._axes.text(
            x,
            y,
            drawn if width is None else fitted(drawn, width, points, bold=bold),
            fontproperties=_font(points, bold),
            color=_MUTED if muted else _INK,
            ha=align,
            va="center_baseline",
            parse_math=False,
        )

    def line(self, x1: float, y1: float, x2: float, y2: float, *, strong: bool = False) -> None:
        """Draw a straight line."""
        from matplotlib.lines import Line2D  # start-up time

        self._axes.add_artist(
            Line2D(
                (x1, x2),
                (y1, y2),
                color=_INK if strong else _LINE,
                linewidth=0.9 if strong else 0.5,
                solid_capstyle="projecting",
            )
        )

    def shade(self, x1: float, y1: float, x2: float, height: float, colour: str) -> None:
        """Fill a rectangle that begins at `y1`."""
        self._axes.fill_between((x1, x2), y1, y1 + height, color=colour, linewidth=0, zorder=0)

    def disc(self, x: float, y: float, width: float) -> None:
        """Fill a disc around a point."""
        from matplotlib.patches import Ellipse  # start-up time

        self._axes.add_artist(Ellipse((x, y), width, width, facecolor=_INK, linewidth=0))

    def draw(
        self, shapes: Iterable[Shape], x: float, y: float, stroke: float, *, scale: float = 1.0
    ) -> None:
        """Draw shapes, their upper left corner at a point, with lines of `stroke` mm."""
        from matplotlib.patches import Ellipse, PathPatch  # start-up time

        for shape in shapes:
            moved = shape.moved(x, y, scale)
            style = _style(shape.ink, stroke * POINTS_PER_INCH / MM_PER_INCH)
            if isinstance(moved, Curve):
                self._axes.add_artist(PathPatch(_path(moved), **style))
            else:
                ends = (moved.x, moved.y), 2 * moved.rx, 2 * moved.ry
                self._axes.add_artist(Ellipse(*ends, **style))


def _path(curve: Curve) -> Path:
    from matplotlib.path import Path  # start-up time

    points = [curve.start, *(point for piece in curve.pieces for point in piece)]
    codes = [Path.MOVETO] + [Path.CURVE4] * (len(points) - 1)
    if curve.closed:
        points.append(curve.start)
        codes.append(Path.CLOSEPOLY)
    return Path(points, codes)


def _style(ink: Ink, points: float) -> dict[str, Any]:
    """How a patch of this ink is drawn, with lines of so many points."""
    if ink in (Ink.SOLID, Ink.TONE):
        return {"facecolor": _INK if ink is Ink.SOLID else _TONE, "linewidth": 0}
    return {
        "facecolor": _BODY if ink is Ink.BODY else "none",
        "edgecolor": _LINE if ink in (Ink.FAINT, Ink.PLACE) else _INK,
        "linewidth": 0.6 * points if ink is Ink.FAINT else points,
        "linestyle": (0, (3, 2)) if ink is Ink.GUESS else "solid",
        "capstyle": "round",
        "joinstyle": "round",
    }


def width_mm(words: str, points: float, *, bold: bool = False) -> float:
    """How wide words are when they are written."""
    return _width_of_a_point(words, bold) * points


@lru_cache(maxsize=4096)
def _width_of_a_point(words: str, bold: bool) -> float:
    """How wide words are, in mm, for each point of their size."""
    from matplotlib.textpath import text_to_path  # start-up time

    font = _font(POINTS_PER_INCH, bold)
    drawn = _drawn(words, bold)
    width, _, _ = text_to_path.get_text_width_height_descent(drawn, font, ismath=False)
    return float(width) * MM_PER_INCH / POINTS_PER_INCH**2


def fitted(words: str, width: float, points: float, *, bold: bool = False) -> str:
    """The words, cut with … to be no wider than `width` mm."""
    if width_mm(words, points, bold=bold) <= width:
        return words
    kept = len(words)
    while kept and width_mm(words[:kept].rstrip() + "…", points, bold=bold) > width:
        kept -= 1
    return words[:kept].rstrip() + "…"


def wrapped(words: str, width: float, points: float) -> list[str]:
    """The words in lines that are no wider than `width` mm, but for a word that is wider itself."""
    width *= _SPARED
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer, points) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _drawn(words: str, bold: bool) -> str:
    return "".join(each if ord(each) in _letters(bold) else _NO_SUCH_LETTER for each in words)


def _font(points: float, bold: bool) -> FontProperties:
    from matplotlib.font_manager import FontProperties  # start-up time

    return FontProperties(family=_FONT, size=points, weight="bold" if bold else "normal")


@cache
def _letters(bold: bool) -> frozenset[int]:
    """The letters that the font has."""
    from matplotlib.font_manager import findfont, get_font  # start-up time

    return frozenset(get_font(findfont(_font(10, bold))).get_charmap())
