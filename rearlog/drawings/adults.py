"""Adults from above, as silhouettes: the span of the wings or the length of the body is known."""

from __future__ import annotations

import math
from collections.abc import Iterable

from rearlog.drawings.strokes import Curve, Ellipse, Ink, Point, Shape, straight, through

_WINGED = ("butterfly", "moth")


def is_spanned(shape: str | None) -> bool:
    """Whether the span of its wings tells how large it is drawn."""
    return shape in _WINGED


def adult(size: float, shape: str | None, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """An adult of that span or length; head and body alone where its shape is not known."""
    if shape in _WINGED:
        return _winged(size, shape == "moth", marks, outline)
    if shape in ("beetle", "ladybird"):
        return _beetle(size, shape == "ladybird", marks, outline)
    if shape == "fly":
        return _fly(size, outline)
    return [
        Ellipse(0, 0.16 * size, 0.2 * size, 0.34 * size, outline),
        Ellipse(0, -0.34 * size, 0.15 * size, 0.16 * size, outline),
    ]


def _both(points: Iterable[Point], size: float, ink: Ink, *, closed: bool = False) -> list[Curve]:
    """A curve on the right and its mirror image, in shares of the size."""
    right = [(x * size, y * size) for x, y in points]
    left = [(-x, y) for x, y in right]
    return [through(right, ink, closed=closed), through(left, ink, closed=closed)]


def _winged(span: float, moth: bool, marks: frozenset[str], outline: Ink) -> list[Shape]:
    fore = [(0.025, -0.13), (0.18, -0.26), (0.36, -0.335), (0.47, -0.335), (0.5, -0.29)]
    fore += [(0.46, -0.16), (0.4, -0.04), (0.33, 0.0), (0.16, 0.0), (0.03, -0.03)]
    hind = [(0.03, 0.0), (0.16, 0.015), (0.3, 0.02), (0.365, 0.1), (0.35, 0.22)]
    hind += [(0.27, 0.3), (0.17, 0.31), (0.09, 0.24), (0.035, 0.1)]
    if "tails" in marks:
        hind[5:6] = [(0.29, 0.28), (0.285, 0.385), (0.255, 0.39), (0.24, 0.305)]
    shapes: list[Shape] = [
        *_both(hind, span, outline, closed=True),
        *_both(fore, span, outline, closed=True),
    ]
    if "dark tips" in marks:
        tip = [(0.36, -0.335), (0.47, -0.335), (0.5, -0.29), (0.475, -0.205), (0.43, -0.27)]
        shapes += _both(tip, span, Ink.SOLID, closed=True)
    if "veins" in marks:
        ends = ((0.42, -0.3), (0.445, -0.22), (0.42, -0.13), (0.36, -0.05))
        for x, y in ends:
            shapes += _both([(0.2, -0.16), (x, y)], span, Ink.LINE)
        shapes += _both([(0.03, -0.09), (0.2, -0.16)], span, Ink.LINE)
        shapes += _both([(0.05, 0.04), (0.14, 0.09)], span, Ink.LINE)
        for x, y in ((0.31, 0.09), (0.3, 0.2), (0.22, 0.26), (0.13, 0.23)):
            shapes += _both([(0.14, 0.09), (x, y)], span, Ink.LINE)
    thick = 0.034 if moth else 0.017
    shapes.append(Ellipse(0, 0.05 * span, thick * span, 0.19 * span, Ink.SOLID))
    shapes.append(Ellipse(0, -0.165 * span, 0.024 * span, 0.024 * span, Ink.SOLID))
    shapes += _both([(0.01, -0.18), (0.04, -0.24), (0.085, -0.3)], span, Ink.LINE)
    if moth:
        for x, y in ((0.03, -0.225), (0.045, -0.25), (0.06, -0.272), (0.075, -0.292)):
            shapes += _both([(x, y), (x + 0.03, y + 0.008)], span, Ink.FAINT)
    else:
        shapes += [
            Ellipse(side * 0.087 * span, -0.302 * span, 0.008 * span, 0.008 * span, Ink.SOLID)
            for side in (-1, 1)
        ]
    return shapes


def _beetle(length: float, round_: bool, marks: frozenset[str], outline: Ink) -> list[Shape]:
    wide = 0.39 if round_ else 0.22
    begin = -0.28 if round_ else -0.2
    middle = (begin + 0.5) / 2
    shapes: list[Shape] = []
    half = (0.5 - begin) / 2
    for hip, foot, reach in ((begin + 0.12, -0.36, 0.2), (0.04, 0.08, 0.24), (0.24, 0.44, 0.2)):
        edge = wide * math.sqrt(1 - ((hip - middle) / half) ** 2)
        knee = (edge + 0.45 * reach, (hip + foot) / 2 - 0.03)
        shapes += _both([(edge, hip), knee, (edge + reach, foot)], length, Ink.LINE)
    shapes += [
        Ellipse(0, -0.43 * length, 0.1 * length, 0.07 * length, Ink.SOLID),
        Ellipse(
            0,
            (begin - 0.085) * length,
            (0.24 if round_ else 0.19) * length,
            0.095 * length,
            Ink.TONE if round_ else outline,
        ),
        Ellipse(0, middle * length, wide * length, half * length, outline),
        straight([(0, begin * length), (0, 0.5 * length)], Ink.LINE),
    ]
    shapes += _both([(0.05, -0.48), (0.12, -0.56), (0.19, -0.585)], length, Ink.LINE)
    spots: list[Point] = []
    if "two spots" in marks:
        spots = [(-0.18, middle), (0.18, middle)]
    if "seven spots" in marks:
        spots = [(0.0, begin + 0.1), (-0.22, -0.06), (0.22, -0.06)]
        spots += [(-0.12, 0.14), (0.12, 0.14), (-0.2, 0.31), (0.2, 0.31)]
    shapes += [
        Ellipse(x * length, y * length, 0.052 * length, 0.052 * length, Ink.SOLID) for x, y in spots
    ]
    return shapes


def _fly(length: float, outline: Ink) -> list[Shape]:
    shapes: list[Shape] = []
    for hip, foot in ((-0.2, -0.4), (-0.08, 0.04), (0.0, 0.4)):
        knee = (0.27, (hip + foot) / 2 - 0.05)
        shapes += _both([(0.12, hip), knee, (0.32, foot)], length, Ink.LINE)
    wing = [(0.08, -0.16), (0.26, 0.0), (0.36, 0.28), (0.3, 0.5), (0.18, 0.42), (0.09, 0.1)]
    shapes += [
        Ellipse(0, 0.26 * length, 0.15 * length, 0.24 * length, outline),
        Ellipse(0, -0.13 * length, 0.15 * length, 0.15 * length, outline),
        Ellipse(0, -0.39 * length, 0.14 * length, 0.11 * length, outline),
        Ellipse(-0.12 * length, -0.4 * length, 0.055 * length, 0.08 * length, Ink.SOLID),
        Ellipse(0.12 * length, -0.4 * length, 0.055 * length, 0.08 * length, Ink.SOLID),
        *_both(wing, length, Ink.LINE, closed=True),
    ]
    return shapes
