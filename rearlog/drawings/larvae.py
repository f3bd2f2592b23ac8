"""Larvae from the side, the head to the left: length, head and measured parts are to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct

from rearlog.drawings.strokes import Curve, Ellipse, Ink, Point, Shape, of_length, through

SEGMENTS = 13
_THICK = {"caterpillar": 0.18, "grub": 0.25, "worm": 0.105, "maggot": 0.2}
_PLAIN_THICK = 0.18
_HEAD_FOR_THICKNESS = 0.72
"""The width of a head that is not known, for a body of thickness 1."""
_LEGS, _PROLEGS = (0, 1, 2), (5, 6, 7, 8, 12)


class _Body(Struct, frozen=True):
    """A body from `front` to `length`, `thick` where it is thickest; shares run from 0 to 1."""

    front: float
    length: float
    thick: float
    taper: Callable[[float], float]
    scallop: float

    def x(self, u: float) -> float:
        return self.front + u * (self.length - self.front)

    def top(self, u: float) -> float:
        bulge = 1 + self.scallop * (abs(math.sin(math.pi * SEGMENTS * u)) - 1)
        return -self.thick * (self.taper(u) * bulge - 0.5)

    def belly(self, u: float) -> float:
        return self.thick * (0.5 - 0.16 * (1 - self.taper(u)))

    def at(self, u: float, share: float) -> Point:
        """A point at a share of the way from the back (0) to the belly (1)."""
        return self.x(u), self.top(u) + share * (self.belly(u) - self.top(u))

    def middle(self, segment: int) -> float:
        return (segment + 0.5) / SEGMENTS


def larva(
    length: float,
    head: float | None,
    shape: str | None,
    marks: frozenset[str],
    parts: Mapping[str, float],
    outline: Ink,
) -> list[Shape]:
    """A larva of that length; `head` is the width of its head, None where it is not known.

    `parts` are lengths of FRONT, BACK and HORN parts. A shape that is not known has no legs.
    """
    thick = max(_THICK.get(shape or "", _PLAIN_THICK) * length, 0.95 * (head or 0.0))
    width = head if head is not None else _HEAD_FOR_THICKNESS * thick
    if shape == "maggot":
        return _maggot(length, thick, outline)
    taper = _tapering if shape == "grub" else _even
    scallop = 0.0 if shape == "worm" else 0.07
    body = _Body(min(0.93 * width, length / 2), length, thick, taper, scallop)
    rise = body.belly(0) - 0.52 * width
    face = Ellipse(width / 2, rise, width / 2, width / 2, Ink.SOLID if head else outline)
    return [
        *_legs(body, shape),
        _outline(body, outline),
        *(_folds(body) if "bands" not in marks else ()),
        *_marks(body, marks, parts),
        *_parts(body, parts),
        face,
    ]


FRONT, BACK, HORN = "front", "back", "horn"
"""Parts of a larva that are drawn as long as they were measured."""


def _even(u: float) -> float:
    """Full but for the ends."""
    return 1 - 0.26 * (1 - min(1.0, u / 0.22)) ** 2 - 0.42 * max(0.0, (u - 0.8) / 0.2) ** 2


def _tapering(u: float) -> float:
    """Broadest behind the legs, narrow at the rear."""
    behind: float = max(0.0, (u - 0.4) / 0.6) ** 1.6
    return 1 - 0.3 * (1 - min(1.0, u / 0.35)) ** 2 - 0.62 * behind


def _outline(body: _Body, ink: Ink) -> Curve:
    steps = [step / (2 * SEGMENTS) for step in range(2 * SEGMENTS + 1)]
    back = [(body.x(u), body.top(u)) for u in steps[:-1]]
    belly = [(body.x(u), body.belly(u)) for u in reversed(steps[1:-1:2])]
    top, bottom = body.top(0.985), body.belly(0.985)
    rear = [
        (body.x(0.994), top + 0.18 * (bottom - top)),
        (body.length, (top + bottom) / 2),
        (body.x(0.994), bottom - 0.1 * (bottom - top)),
    ]
    return through([*back, *rear, *belly, (body.x(0), body.belly(0))], ink, closed=True)


def _folds(body: _Body) -> Iterator[Shape]:
    for segment in range(1, SEGMENTS):
        u = segment / SEGMENTS
        bend = 0.012 * body.length
        x, middle = body.at(u, 0.5)
        ends = (body.at(u, 0.06), (x + bend, middle), body.at(u, 0.94))
        yield through(ends, Ink.FAINT)


def _legs(body: _Body, shape: str | None) -> Iterator[Shape]:
    if shape is None:
        return
    reach = {"grub": 0.62, "worm": 0.34}.get(shape, 0.3) * body.thick
    step = (body.length - body.front) / SEGMENTS
    for segment in _LEGS:
        x, y = body.at(body.middle(segment), 1.0)
        spread = (segment - 1) * 0.25 * reach if shape == "grub" else 0.0
        knee = (x - 0.34 * reach + spread, y + 0.5 * reach)
        yield through([(x, y), knee, (x - 0.2 * reach + 2 * spread, y + reach)], Ink.LINE)
    for segment in _PROLEGS if shape == "caterpillar" else ():
        x, y = body.at(body.middle(segment), 1.0)
        half, foot = 0.26 * step, y + 0.24 * body.thick
        corners = [
            (x - half, y),
            (x - 0.9 * half, foot - 0.06 * body.thick),
            (x, foot),
            (x + 0.9 * half, foot - 0.06 * body.thick),
            (x + half, y),
        ]
        yield through(corners, Ink.LINE)


def _across(body: _Body, begin: float, end: float, ink: Ink) -> Curve:
    """A band across the body between two shares of its length."""
    shares = [begin + (end - begin) * step / 8 for step in range(9)]
    back = [body.at(u, 0.0) for u in shares]
    belly = [body.at(u, 1.0) for u in reversed(shares)]
    ring = [*back, *belly]
    pieces = through(back, ink).pieces
    below = through(belly, ink)
    joint = (back[-1], belly[0], belly[0])
    return Curve(ring[0], (*pieces, joint, *below.pieces), ink, closed=True)


def _along(body: _Body, share: float) -> Curve:
    shares = [0.05 + 0.9 * step / 20 for step in range(21)]
    lift = [(body.x(u), body.belly(u) - (1 - share) * body.thick * _even(u)) for u in shares]
    return through(lift, Ink.LINE)


def _marks(body: _Body, marks: frozenset[str], parts: Mapping[str, float]) -> Iterator[Shape]:
    segments = range(SEGMENTS)
    if "bands" in marks:
        for segment in segments:
            u, step = segment / SEGMENTS, 1 / SEGMENTS
            yield _across(body, u + 0.16 * step, u + 0.42 * step, Ink.SOLID)
            yield _across(body, u + 0.56 * step, u + 0.84 * step, Ink.TONE)
    if "saddle" in marks:
        yield _across(body, 0.02, 0.42, Ink.TONE)
        yield _across(body, 0.6, 0.96, Ink.TONE)
    if "slanting stripes" in marks:
        for segment in range(3, 10):
            low = body.at((segment + 0.1) / SEGMENTS, 0.82)
            yield through([low, body.at((segment + 1.15) / SEGMENTS, 0.3)], Ink.LINE)
    if "side line" in marks:
        yield _along(body, 0.66)
    if "back line" in marks:
        yield _along(body, 0.16)
    if "hairs" in marks:
        for segment in segments:
            for place, lean in ((0.3, -0.25), (0.7, 0.25)):
                yield _hair(body, (segment + place) / SEGMENTS, lean, 0.3)
    if "spines" in marks:
        for segment in segments[1:-1]:
            yield from _spine(body, body.middle(segment), 0.04, 0.36)
            yield from _spine(body, body.middle(segment), 0.55, 0.26)
    if "horn" in marks and HORN not in parts:
        yield _horn(body, 0.6 * body.thick)


def _hair(body: _Body, u: float, lean: float, reach: float) -> Curve:
    x, y = body.at(u, 0.02)
    tip = (x + lean * reach * body.thick, y - reach * body.thick)
    return through([(x, y), tip], Ink.FAINT)


def _spine(body: _Body, u: float, share: float, reach: float) -> Iterator[Curve]:
    """A spine with two twigs."""
    x, y = body.at(u, share)
    long = reach * body.thick
    yield through([(x, y), (x + 0.12 * long, y - long)], Ink.LINE)
    fork = (x + 0.06 * long, y - 0.5 * long)
    for side in (-1, 1):
        tip = (fork[0] + side * 0.34 * long, fork[1] - 0.3 * long)
        yield through([fork, tip], Ink.FAINT)


def _horn(body: _Body, length: float) -> Curve:
    x, y = body.at(0.9, 0.03)
    curve = through([(x, y), (x + 0.14, y - 0.55), (x + 0.5, y - 1.0)], Ink.LINE)
    return of_length(curve, length)


def _parts(body: _Body, parts: Mapping[str, float]) -> Iterator[Shape]:
    """Filaments in pairs, and the horn."""
    for part, u, way in ((FRONT, 0.1, -1), (BACK, 0.87, 1)):
        for rise, near in ((0.75, 0.02), (1.35, 0.05)) if part in parts else ():
            x, y = body.at(u, near)
            bend = [(x, y), (x + way * 0.3, y - 0.62 * rise), (x + way * 0.95, y - rise)]
            yield of_length(through(bend, Ink.LINE), parts[part])
    if HORN in parts:
        yield _horn(body, parts[HORN])


def _maggot(length: float, thick: float, outline: Ink) -> list[Shape]:
    """Pointed in front, blunt behind; it has no head to be seen."""
    shares = [step / 10 for step in range(11)]

    def half(u: float) -> float:
        return thick / 2 * (0.12 + 0.88 * u**0.75) if u < 0.9 else thick / 2 * 0.95

    back = [(u * length, -half(u)) for u in shares[:-1]]
    rear = [(length, -0.28 * thick), (length, 0.28 * thick)]
    belly = [(x, -y) for x, y in reversed(back)]
    rings: list[Shape] = [
        through(
            [
                (u * length, -0.92 * half(u)),
                (u * length + 0.02 * length, 0),
                (u * length, 0.92 * half(u)),
            ],
            Ink.FAINT,
        )
        for u in (0.14, 0.24, 0.34, 0.44, 0.54, 0.64, 0.74, 0.84)
    ]
    return [through([*back, *rear, *belly], outline, closed=True), *rings]
