"""What is wrong with how a figure is laid out, as far as the boxes of its artists tell."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

import numpy as np
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.textpath import text_to_path
from matplotlib.transforms import Bbox

from rearlog.charts.output import _laid_out
from rearlog.charts.style import Style
from tests.charts.conftest import texts

SPARE = 0.16
"""The box of a line of text holds room above and below its letters: so much of its size is air."""
POINTS_PER_INCH = 72
LEAST_SHARE = 0.12
"""All drawings together cover at least so much of the figure."""
LEAST_WIDE, LEAST_HIGH = 5.0, 1.8
"""Each drawing is at least so many times the size of the text wide, and high."""


def faults(figure: Figure, look: Style) -> list[str]:
    """What is wrong with the layout of a chart: a line each, empty where nothing is."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            with _laid_out(figure, "svg", POINTS_PER_INCH):
                return list(_faults(figure, look))
        except UserWarning as warning:
            return [f"no layout: {warning}"]


def _faults(figure: Figure, look: Style) -> Iterator[str]:
    drawn = texts(figure)
    lines = [(text, box) for text in drawn for box in line_boxes(text)]
    for text, box in lines:
        edge = figure.bbox
        if box.x0 < -0.5 or box.y0 < -0.5 or box.x1 > edge.x1 + 0.5 or box.y1 > edge.y1 + 0.5:
            yield f"clipped: {_name(text)}"
        if text.get_fontsize() < look.least_pt - 0.01:
            yield f"small: {_name(text)} {text.get_fontsize():.1f}"
    for one, other in _overlaps([box for _, box in lines]):
        if lines[one][0] is not lines[other][0]:
            yield f"overlap: {_name(lines[one][0])} | {_name(lines[other][0])}"
    panels = [axes for axes in figure.axes if axes.axison and axes.spines["bottom"].get_visible()]
    if not panels:
        return
    for axes in panels:
        wide, high = axes.bbox.width / look.text_pt, axes.bbox.height / look.text_pt
        if wide < LEAST_WIDE or high < LEAST_HIGH:
            yield f"collapsed: {wide:.1f} by {high:.1f} times the text"
    shown = [axes for axes in figure.axes if axes.axison]  # a table of numbers is no less shown
    share = sum(axes.bbox.width * axes.bbox.height for axes in shown)
    share /= figure.bbox.width * figure.bbox.height
    if share < LEAST_SHARE:
        yield f"drawings cover {share:.2f} of the figure"


def line_boxes(text: Text) -> list[Bbox]:
    """The boxes of the lines of a text, without the air above and below their letters."""
    box = Text.get_window_extent(text)  # of the words alone, where an arrow belongs to them
    air = SPARE * text.get_fontsize()
    if text.get_rotation() % 180:
        return [Bbox.from_extents(box.x0 + air, box.y0, box.x1 - air, box.y1)]
    words = text.get_text().split("\n")
    high = box.height / len(words)
    found = []
    for place, line in enumerate(words):
        wide = box.width
        if len(words) > 1:
            wide, _, _ = text_to_path.get_text_width_height_descent(
                line, text.get_fontproperties(), ismath=False
            )
        top = box.y1 - place * high
        left = box.x0 + {"left": 0.0, "center": 0.5, "right": 1.0}[text.get_ha()] * (
            box.width - wide
        )
        if line.strip():
            found.append(Bbox.from_extents(left, top - high + air, left + wide, top - air))
    return found


def _overlaps(boxes: list[Bbox]) -> list[tuple[int, int]]:
    if len(boxes) < 2:
        return []
    x0, y0, x1, y1 = np.array([box.extents for box in boxes]).T
    across = np.minimum(x1[:, None], x1) - np.maximum(x0[:, None], x0)
    down = np.minimum(y1[:, None], y1) - np.maximum(y0[:, None], y0)
    found = np.argwhere(np.triu((across > 0.2) & (down > 0.2), k=1))
    return [(int(one), int(other)) for one, other in found]


def _name(text: Text) -> str:
    words = text.get_text().replace("\n", " ")
    return f"“{words[:40]}”"
