"""Pupae: their length is known at best; the rest is a matter of their shape."""

from __future__ import annotations

import math

from rearlog.drawings.outlines import HalfWidth, ring, superellipse, upright
from rearlog.drawings.strokes import Curve, Ellipse, Ink, Shape, straight, through


def pupa(length: float, shape: str | None, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """A pupa of that length; a plain case with folds where its shape is not known."""
    draw = {"hanging": _hanging, "girdled": _girdled, "barrel": _barrel, "dome": _dome}
    return draw.get(shape or "", _case)(length, marks, outline)


def _hanging(length: float, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """Head down under a twig, on a short stalk that counts as a part of it."""
    stalk = 0.08 * length
    long, wide = length - stalk, 0.42 * length
    half = superellipse(2.3, lean=-0.16)
    # it stands on its head: the far end of an upright outline is the tail

    def narrow(t: float) -> float:
        return half(1 - t) if t < 0.5 else half(1 - t) * (1 - 0.35 * ((t - 0.5) / 0.5) ** 2)

    shapes: list[Shape] = [
        straight([(-0.3 * length, -length), (0.3 * length, -length)], Ink.PLACE),
        straight([(0, -length), (0, -long)], Ink.LINE),
        upright(narrow, wide, long, outline),
        *(ring(narrow, wide, long, t, Ink.FAINT) for t in (0.6, 0.68, 0.76, 0.84)),
        _wing_case(wide, long),
    ]
    if "dots" in marks:
        places = [(-0.62, 0.66), (-0.31, 0.645), (0.0, 0.64), (0.31, 0.645), (0.62, 0.66)]
        places += [(-0.34, 0.14), (0.34, 0.14)]
        for share, t in places:
            x = share * narrow(t) * wide / 2
            shapes.append(Ellipse(x, -t * long, 0.012 * length, 0.012 * length, Ink.SOLID))
    if "points" in marks:
        for t in (0.52, 0.62, 0.72, 0.82):
            for side in (-1, 1):
                x, y = side * narrow(t) * wide / 2, -t * long
                tip = (x + side * 0.035 * length, y + 0.004 * length)
                corners = [(x, y - 0.018 * length), tip, (x, y + 0.018 * length)]
                shapes.append(straight(corners, Ink.SOLID, closed=True))
    return shapes


def _wing_case(wide: float, long: float) -> Curve:
    """The edge of the folded wing."""
    points = [(-0.36, 0.16), (-0.1, 0.36), (0.02, 0.55), (0.2, 0.42), (0.34, 0.2)]
    return through([(x * wide, -t * long) for x, t in points], Ink.FAINT)


def _girdled(length: float, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """Upright along a twig, head up, held by its tail and by a thread round the middle."""
    back = [
        (0.03, 0.0),
        (0.13, 0.14),
        (0.19, 0.36),
        (0.17, 0.5),
        (0.25, 0.64),
        (0.22, 0.78),
        (0.17, 0.9),
        (0.13, 0.985),
        (0.10, 1.0),
        (0.07, 0.97),
    ]
    front = [(-0.02, 0.86), (-0.065, 0.7), (-0.075, 0.5), (-0.05, 0.3), (-0.015, 0.1)]
    body = [(x * length, -y * length) for x, y in (*back, *front)]
    lines = (
        [(-0.05, 0.29), (0.05, 0.26), (0.17, 0.29)],
        [(-0.035, 0.19), (0.05, 0.165), (0.15, 0.19)],
        [(-0.02, 0.1), (0.04, 0.085), (0.1, 0.1)],
        [(-0.03, 0.8), (0.05, 0.62), (0.03, 0.36), (-0.05, 0.34)],
    )
    folds = [through([(x * length, -y * length) for x, y in each], Ink.FAINT) for each in lines]
    stem = -0.14 * length
    thread = [(stem, -0.66 * length), (0.04 * length, -0.555 * length)]
    thread += [(0.195 * length, -0.55 * length)]
    shapes: list[Shape] = [
        straight([(stem, 0.05 * length), (stem, -1.08 * length)], Ink.PLACE),
        straight([(stem, 0.0), (0.03 * length, 0.0)], Ink.LINE),
        through(body, outline, closed=True),
        *folds,
        through(thread, Ink.LINE),
    ]
    if "horns" in marks:
        for x, lean in ((0.07, -0.035), (0.135, 0.035)):
            foot = (x * length, -0.98 * length)
            shapes.append(through([foot, ((x + lean) * length, -1.05 * length)], Ink.LINE))
    return shapes


def _case(length: float, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """Lying, head to the left."""
    wide = 0.34 * length

    def half(t: float) -> float:
        front = math.sqrt(max(0.0, 1 - (1 - t / 0.35) ** 2)) if t < 0.35 else 1.0
        behind: float = max(0.0, (t - 0.42) / 0.58) ** 1.8
        return front * (1 - 0.82 * behind)

    shares = [0.0, 0.02, 0.07, 0.15, 0.25, 0.35, 0.5, 0.62, 0.74, 0.85, 0.94, 0.985]
    back = [(t * length, -half(t) * wide / 2) for t in shares]
    belly = [(x, -y) for x, y in reversed(back[1:])]
    shapes: list[Shape] = []
    if "cocoon" in marks:
        middle = length / 2
        shapes.append(Ellipse(middle, 0, 0.68 * length, 0.4 * length, Ink.PLACE))
    shapes.append(through([*back, (length, 0.0), *belly], outline, closed=True))
    for t in (0.56, 0.65, 0.74, 0.83, 0.9):
        reach = half(t) * wide / 2
        bend = [(t * length, -reach), (t * length + 0.02 * length, 0), (t * length, reach)]
        shapes.append(through(bend, Ink.FAINT))
    if "handle" in marks:
        loop = [(0.05, 0.1), (0.03, 0.22), (0.12, 0.27), (0.22, 0.25), (0.27, 0.165)]
        shapes.append(through([(x * length, y * length) for x, y in loop], Ink.LINE))
    if "limbs" in marks:
        for begin, end in ((0.16, 0.34), (0.24, 0.42), (0.32, 0.52)):
            points = [(begin, -0.02), (begin + 0.05, 0.12), (end, 0.05)]
            shapes.append(through([(x * length, y * length) for x, y in points], Ink.LINE))
    return shapes


def _barrel(length: float, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """A barrel on its side, with two short horns in front."""
    half: HalfWidth = superellipse(2.4)
    wide = 0.36 * length
    lying = upright(half, wide, length, outline)
    shapes: list[Shape] = [_on_its_side(lying)]
    for t in (0.18, 0.31, 0.44, 0.57, 0.7, 0.82):
        shapes.append(_on_its_side(ring(half, wide, length, t, Ink.FAINT)))
    for side in (-1, 1):
        foot = (0.035 * length, side * 0.08 * length)
        shapes.append(straight([foot, (-0.05 * length, side * 0.13 * length)], Ink.LINE))
    return shapes


def _on_its_side(curve: Curve) -> Curve:
    """Turned so that its base is to the left."""

    def turn(point: tuple[float, float]) -> tuple[float, float]:
        return -point[1], point[0]

    pieces = tuple((turn(a), turn(b), turn(c)) for a, b, c in curve.pieces)
    return Curve(turn(curve.start), pieces, curve.ink, curve.closed)


def _dome(length: float, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """Humped from the side, its tail on what it is glued to, with the shed skin there."""
    hump = [(0.0, -0.1), (0.08, -0.3), (0.3, -0.5), (0.55, -0.48), (0.8, -0.3), (0.95, -0.1)]
    hump += [(1.0, 0.0), (0.8, -0.02), (0.5, -0.05), (0.2, -0.04), (0.04, -0.03)]
    folds = ((0.5, -0.49, -0.07), (0.63, -0.44, -0.05), (0.75, -0.35, -0.04), (0.86, -0.24, -0.03))
    shapes: list[Shape] = [
        straight([(-0.15 * length, 0), (1.15 * length, 0)], Ink.PLACE),
        through([(x * length, y * length) for x, y in hump], outline, closed=True),
    ]
    for x, top, foot in folds:
        points = [(x * length, top * length), ((x + 0.03) * length, (top + foot) / 2 * length)]
        shapes.append(through([*points, (x * length, foot * length)], Ink.FAINT))
    skin = [(0.9, -0.1), (0.96, -0.16), (1.03, -0.07), (1.1, -0.1), (1.08, 0.0)]
    shapes.append(through([(x * length, y * length) for x, y in skin], Ink.FAINT))
    return shapes
