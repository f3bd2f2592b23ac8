"""What a chart draws, in lines of text: where everything stands, and how large it is.

Lengths are in times of the text's size, so that a picture tells what `style.py` and the charts say
of them; days are counted from Monday 9 March 2026, 0:00. What is a matter of taste (how thick a
line is, what lies over what, how much shines through) is left out, and so is all that depends on
how wide letters are.
"""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PathCollection, PolyCollection
from matplotlib.colors import to_hex, to_rgba
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.markers import MarkerStyle
from matplotlib.patches import PathPatch, Polygon, Rectangle, StepPatch
from matplotlib.text import Annotation, Text

from rearlog.charts.style import Style

MONDAY = date(2026, 3, 9).toordinal()
LONG_AGO = 700000
"""Greater numbers are dates."""
FEW_TICKS = 2
"""So few are told one by one in a sketch."""
NO_MARK = ("None", "none", "")
MOST_POINTS = 24
"""Of longer lines every so-manieth point is told that no more remain."""


def portrait(figure: Figure, look: Style) -> list[str]:
    """The lines about a figure, its panels one after another."""
    told = [_size(figure, look), *_words_around(figure, look)]
    for axes in figure.axes:
        told += ["", _place(axes, look), *(f"  {each}" for each in _panel(axes, look))]
    return told


def sketch(figure: Figure, look: Style) -> list[str]:
    """Sizes alone: of the figure, of its panels with their limits and ticks, of letters, marks."""
    told = [_size(figure, look)]
    written = [each.partition(": ")[0] for each in _words_around(figure, look)]
    told += [f"{count} lines {each}" for each, count in Counter(written).items()]
    for axes in figure.axes:
        told.append(_place(axes, look))
        if axes.axison:
            told[-1] += f", x {_all(axes.get_xlim())}, y {_all(axes.get_ylim())}, "
            inner = [
                sum(min(limits) <= tick <= max(limits) for tick in axis.get_ticklocs())
                for axis, limits in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim()))
            ]
            told[-1] += f"{inner[0]} by {inner[1]} ticks"
            if inner[1] <= FEW_TICKS:
                told[-1] += f" at {_all(axes.get_yticks())}"
            sizes = [
                axis.get_tick_params()["labelsize"] / look.text_pt
                for axis in (axes.xaxis, axes.yaxis)
            ]
            told[-1] += f" of {_all(dict.fromkeys(sizes))}"
        children = axes.get_children()
        letters = {each.get_fontsize() / look.text_pt for each in children if _is_text(each)}
        marks = {
            each.get_markersize() / look.text_pt
            for each in children
            if isinstance(each, Line2D) and each.get_marker() not in NO_MARK
        }
        places = [each.xy for each in children if isinstance(each, Annotation) and not axes.axison]
        told[-1] += f"; letters {_all(sorted(letters))}; marks {_all(sorted(marks))}"
        for name, every in zip(("across", "up"), zip(*places, strict=True), strict=False):
            told[-1] += f"; {name} {_all(dict.fromkeys(every))}"
        title = axes.get_title(loc="left").replace("\n", " / ")
        told[-1] += f"; above: {title}" if title else ""
    return told


def _is_text(artist: Artist) -> bool:
    return isinstance(artist, Text) and bool(artist.get_text().strip())


def _size(figure: Figure, look: Style) -> str:
    em = look.text_pt / 72
    wide, high = figure.get_size_inches()
    pads: Any = figure.get_layout_engine().get()  # type: ignore[union-attr]
    kept = [pads[name] / em for name in ("w_pad", "h_pad")]
    return f"figure {_all([wide / em, high / em])}, around {_all(kept)}"


def _words_around(figure: Figure, look: Style) -> list[str]:
    em = look.text_pt / 72
    wide, high = figure.get_size_inches()
    told = []
    for text in figure.texts:
        x, y = text.get_position()
        place = f"{_number(x * wide / em)} from the left"
        if text.get_ha() == "right":
            place = f"{_number((1 - x) * wide / em)} from the right, {_number(y * high / em)} up"
        size = _number(text.get_fontsize() / look.text_pt)
        told += [f"{place}, {size}: {line}" for line in text.get_text().split("\n") if line.strip()]
    return told


def _place(axes: Axes, look: Style) -> str:
    grid, place = axes.get_gridspec(), axes.get_subplotspec()
    assert grid is not None
    assert place is not None
    ratios = grid.get_height_ratios()
    where = f"row {place.rowspan.start + 1} of {len(ratios)}"
    where += f", column {place.colspan.start + 1} of {grid.ncols}"
    return f"panel in {where}, high {_number(ratios[place.rowspan.start] * 72 / look.text_pt)}"


def _panel(axes: Axes, look: Style) -> Iterator[str]:
    if axes.axison:
        for name, axis, limits in (
            ("x", axes.xaxis, axes.get_xlim()),
            ("y", axes.yaxis, axes.get_ylim()),
        ):
            low, high = min(limits), max(limits)
            axis.get_majorticklabels()  # lays the ticks out
            ticks = [
                (tick.get_loc(), tick.label1.get_text())
                for tick in axis.get_major_ticks()
                if low - 1e-9 <= tick.get_loc() <= high + 1e-9
            ]
            drawn = axis.get_tick_params()
            names = ", ".join(f"{_number(place)} “{text}”" for place, text in ticks)
            scale = "" if axis.get_scale() == "linear" else f", {axis.get_scale()}"
            sizes = [drawn.get("length", 0.0) / look.text_pt]
            if drawn.get("labelbottom", True):
                sizes.append(drawn.get("labelsize", 0.0) / look.text_pt)
            else:
                names = ", ".join(_number(place) for place, _ in ticks)
            if getattr(axis.get_major_locator(), "_integer", False):
                scale += ", whole numbers"
            turned = drawn.get("labelrotation", drawn.get("rotation", 0.0))
            scale += f", turned {_number(turned)}" if turned else ""
            yield f"{name} {_all(limits)}{scale}, {_all(sizes)}: {names}"
            if axis.get_label_text():
                size = axis.label.get_fontsize() / look.text_pt
                yield f"{name} is {axis.get_label_text()}, {_number(size)}"
        sides = [side for side, spine in axes.spines.items() if spine.get_visible()]
        if sides != ["bottom"]:
            yield f"lines at {', '.join(sides) or 'no side'}"
        title = axes.get_title(loc="left")
        if title:
            size = axes._left_title.get_fontsize() / look.text_pt  # type: ignore[attr-defined]
            dpi = axes.get_figure(root=True).dpi  # type: ignore[union-attr]
            up = axes.titleOffsetTrans.transform((0.0, 0.0))[1] / dpi * 72 / look.text_pt  # type: ignore[attr-defined]
            yield f"{_number(up)} above, {_number(size)}: {title}"
    for artist in axes.get_children():
        yield from _artist(artist, axes, look)


def _artist(artist: Artist, axes: Axes, look: Style) -> Iterator[str]:
    name = textwrap.shorten((artist.get_gid() or "·").replace(",", " "), 40, placeholder="…")
    parts: Iterable[str]
    match artist:
        case Annotation() | Text():
            if not artist.get_text().strip() or artist in (axes.title, axes._left_title):  # type: ignore[attr-defined]
                return
            parts = _text(artist, look)
        case Line2D():
            if artist.get_linestyle() == "None" and artist.get_marker() in NO_MARK:
                return  # what matplotlib draws error bars around
            parts = _line(artist, look)
        case PolyCollection() | LineCollection():
            shape = "band" if isinstance(artist, PolyCollection) else "strokes"
            corners = [path.vertices for path in artist.get_paths()]
            colours = artist.get_facecolor() if shape == "band" else artist.get_edgecolor()
            shown = to_hex(np.asarray(colours)[0])
            parts = [shape, shown, *map(_points, corners)]
        case PathCollection():
            sizes = np.sqrt(artist.get_sizes()) / look.text_pt
            faces = dict.fromkeys(_colour(each) for each in artist.get_facecolor())
            marks = _points(artist.get_offsets())
            parts = ["marks", "/".join(faces), _all(np.atleast_1d(sizes)), "at", marks]
        case StepPatch():
            values, edges, base = artist.get_data()
            filled = artist.get_facecolor() if artist.get_fill() else artist.get_edgecolor()
            parts = ["layer", _colour(filled), f"from {_all(edges[[0, -1]])}:"]
            low = "" if base is None else f"{_all(np.atleast_1d(base))} to "
            parts = [*parts, f"{low}{_all(values)}"]
            parts = [*parts, str(artist.get_hatch() or "")]
        case Rectangle() if artist is not axes.patch:
            corner = [artist.get_x(), artist.get_y()]
            far = [corner[0] + artist.get_width(), corner[1] + artist.get_height()]
            parts = ["box", _colour(artist.get_facecolor()), _points([corner, far])]
        case Polygon():
            parts = ["area", _colour(artist.get_facecolor()), _points(artist.get_xy())]
        case PathPatch():
            parts = ["area", _colour(artist.get_facecolor()), _points(artist.get_path().vertices)]
        case _:
            return
    free = [] if artist.get_in_layout() else ["no room made"]
    yield " ".join([name, *(each for each in parts if each), *free])


def _line(line: Line2D, look: Style) -> Iterator[str]:
    if line.get_linestyle() != "None":
        dash = line._unscaled_dash_pattern[1]  # type: ignore[attr-defined]
        yield f"line {'solid' if dash is None else _all(dash)}"
        if line.get_drawstyle() != "default":
            yield line.get_drawstyle()
    if line.get_marker() not in NO_MARK:
        every = line.get_markevery()
        yield f"mark {line.get_marker()} {_number(line.get_markersize() / look.text_pt)}"
        if every is not None:
            yield f"every {every}"
        faces = [line.get_markeredgecolor()]
        if line.get_marker() in MarkerStyle.filled_markers:
            faces.append(line.get_markerfacecolor())
        yield "/".join(dict.fromkeys(map(_colour, faces)))
    else:
        yield _colour(line.get_color())
    yield _points(line.get_xydata())


def _text(text: Text, look: Style) -> Iterator[str]:
    size = _number(text.get_fontsize() / look.text_pt)
    side = f"{text.get_ha()} {text.get_va()}"
    point: Any = text.get_position()
    off = ""
    if isinstance(text, Annotation):
        point = text.xy
        moved = [each / look.text_pt for each in text.get_position()]
        off = f"moved {_all(moved)}" if any(moved) else ""
        if text.arrow_patch is not None:
            style = text.arrow_patch.get_linestyle()
            off += f" behind {style if isinstance(style, str) else _all(style[1] or ())}"
            off += f" {_colour(text.arrow_patch.get_edgecolor())}"
            ends = [text.arrow_patch.shrinkA, text.arrow_patch.shrinkB]
            off += f" {_all(each / look.text_pt for each in ends)}"
    box = text.get_bbox_patch()
    if box is not None:
        off += f" on {_colour(box.get_facecolor())} {_colour(box.get_edgecolor())}"
        off += f" {box.get_hatch() or ''} {_number(box.get_boxstyle().pad)}"
    turned = "" if not text.get_rotation() else f"turned {_number(text.get_rotation())}"
    said = "“" + text.get_text().replace("\n", "/") + "”"
    kind = "italic" if text.get_fontstyle() == "italic" else ""
    kind += " formula" if text.get_parse_math() else ""
    parts = [said, size, kind, side, off, turned, _colour(text.get_color()), _points([point])]
    yield " ".join(each for each in parts if each)


def _colour(colour: Any) -> str:
    return to_hex(colour) if to_rgba(colour)[3] else "none"


def _points(points: Any) -> str:
    every = [*points]
    step = -(-len(every) // MOST_POINTS)
    return " ".join(f"({_all(point)})" for point in every[::step])


def _all(numbers: Iterable[float]) -> str:
    return " ".join(map(_number, numbers))


def _number(number: float) -> str:
    """Two decimals, three digits at the least; dates as days since the Monday."""
    number = float(number)
    number = round(number - MONDAY if number > LONG_AGO else number, 6)
    return f"{number:.3g}" if abs(number) < 1 else f"{number:.2f}".rstrip("0").rstrip(".")
