"""Line drawings of stages as SVG, at true scale: one user unit is a millimetre.

Nothing in them needs a style sheet, a script or another file: colours are presentation attributes
that follow the text's colour, and classes (`drawing`, `ink-body` …) are there for whoever wants
others.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import groupby

from msgspec import Struct

from rearlog.drawings.stages import Picture, picture
from rearlog.drawings.strokes import Curve, Ellipse, Ink, Shape
from rearlog.records.profile import Profile
from rearlog.sentences import drawings as say

_STROKE_SHARE = 0.008
"""The stroke's share of the larger side: the same on the screen, whatever is magnified to fit."""
_THINNEST_MM, _THICKEST_MM = 0.1, 0.3
"""Strokes of drawings at true scale, which a printer still shows."""
_GAP_MM, _LABEL_MM, _EDGE_MM = 5.0, 3.1, 2.0


class Drawing(Struct, frozen=True):
    """A drawing of a stage: `svg`, an element of its own that is `width_mm` × `height_mm` large,
    and what it shows in words."""

    svg: str
    width_mm: float
    height_mm: float
    alt: str


def drawing(profile: Profile, stage_code: str) -> Drawing:
    """The drawing of one stage; KeyError where the profile has none such.

    At true scale as it is; magnified by giving the element another width, and lines keep their
    weight from stage to stage when all are magnified to the same size.
    """
    shown = picture(profile, stage_code)
    return drawing_of(shown, say.alt(shown))


def drawing_of(shown: Picture, words: str) -> Drawing:
    """A picture as a drawing that is called by these words."""
    stroke = _STROKE_SHARE * max(shown.width_mm, shown.height_mm)
    width, height = shown.width_mm + 2 * stroke, shown.height_mm + 2 * stroke
    group = _group([shown], stroke, stroke, stroke, "")
    svg = _svg(width, height, words, group)
    return Drawing(svg, width, height, words)


def side_by_side(profile: Profile) -> str:
    """All stages at one true scale beside each other, each with its code and its size.

    Stages in a row that look alike as far as is known share a drawing.
    """
    rows = alike(profile)
    columns = [max(row[0].width_mm, _label_width(row[0])) for row in rows]
    ground = _EDGE_MM + max(row[0].height_mm for row in rows)
    parts = []
    x = _EDGE_MM
    for row, column in zip(rows, columns, strict=True):
        first, codes = row[0], ends("–", row[0].stage.code, row[-1].stage.code)
        left, top = x + (column - first.width_mm) / 2, ground - first.height_mm
        parts.append(_group(row, left, top, _stroke(first), say.alt(first, row[-1])))
        middle = x + column / 2
        parts.append(_text(middle, ground + 5, codes, bold=True))
        parts.append(_text(middle, ground + 9, say.label(first)))
        x += column + _GAP_MM
    width = x - _GAP_MM + _EDGE_MM
    words = f"The stages of {profile.name} beside each other at one scale. {say.LEGEND}"
    return _svg(width, ground + 11, words, "".join(parts))


def alike(profile: Profile) -> list[list[Picture]]:
    """The stages of a profile, those in a row together that look alike as far as is known."""
    every = (picture(profile, code) for code in profile.codes)
    return [list(group) for _, group in groupby(every, key=lambda each: each.shapes)]


def ends(joint: str, first: str, last: str) -> str:
    """The first and the last of some things; where they are the same, it alone."""
    return first if first == last else f"{first}{joint}{last}"


def _stroke(shown: Picture) -> float:
    share = _STROKE_SHARE * max(shown.width_mm, shown.height_mm)
    return min(max(share, _THINNEST_MM), _THICKEST_MM)


def _label_width(shown: Picture) -> float:
    """About how wide the words beneath are: no letter is measured."""
    return 0.56 * _LABEL_MM * len(say.label(shown))


def _svg(width: float, height: float, words: str, content: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
        f'width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" aria-label="{escape(words)}">{content}</svg>'
    )


def _group(alike: Sequence[Picture], x: float, y: float, stroke: float, words: str) -> str:
    title = f"<title>{escape(words)}</title>" if words else ""
    shapes = "".join(_element(each.moved(x, y), stroke) for each in alike[0].shapes)
    code = escape(" ".join(each.stage.code for each in alike))
    return (
        f'<g class="stage" data-stage="{code}" stroke-linecap="round" stroke-linejoin="round">'
        f"{title}{shapes}</g>"
    )


def _text(x: float, y: float, words: str, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="middle" font-size="{_LABEL_MM}" '
        f'fill="currentColor"{weight}>{escape(words)}</text>'
    )


def _element(shape: Shape, stroke: float) -> str:
    ink = f'class="ink-{shape.ink}" {_attributes(shape.ink, stroke)}'
    if isinstance(shape, Ellipse):
        return (
            f'<ellipse cx="{_n(shape.x)}" cy="{_n(shape.y)}" rx="{_n(shape.rx)}" '
            f'ry="{_n(shape.ry)}" {ink}/>'
        )
    return f'<path d="{_path(shape)}" {ink}/>'


def _path(curve: Curve) -> str:
    pieces = "".join(f"C{_points(piece)}" for piece in curve.pieces)
    return f"M{_points([curve.start])}{pieces}{'Z' if curve.closed else ''}"


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _attributes(ink: Ink, stroke: float) -> str:
    if ink in (Ink.SOLID, Ink.TONE):
        opacity = "1" if ink is Ink.SOLID else "0.35"
        return f'fill="currentColor" fill-opacity="{opacity}"'
    line = {Ink.FAINT: ("0.6", "0.45"), Ink.PLACE: ("1", "0.4")}.get(ink, ("1", "1"))
    fill = 'fill="currentColor" fill-opacity="0.07"' if ink is Ink.BODY else 'fill="none"'
    width = f'stroke-width="{_n(float(line[0]) * stroke)}"'
    dashes = f' stroke-dasharray="{_n(4 * stroke)} {_n(3 * stroke)}"' if ink is Ink.GUESS else ""
    opacity = f' stroke-opacity="{line[1]}"' if line[1] != "1" else ""
    return f'{fill} stroke="currentColor" {width}{opacity}{dashes}'


def _n(number: float) -> str:
    """A number of millimetres, to a tenth of a thousandth."""
    return f"{number:.4f}".rstrip("0").rstrip(".")
