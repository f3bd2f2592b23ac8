"""What drawings consist of: curves and ellipses in millimetres, x to the right and y downwards."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from enum import StrEnum
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

Point = tuple[float, float]
Cubic = tuple[Point, Point, Point]

_STEPS = 24
"""Straight pieces that a cubic is cut into, where its length or its bounds are needed."""
_WEIGHTS = tuple(
    ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    for t in (step / _STEPS for step in range(1, _STEPS + 1))
)
"""Of start, handles and end at the end of each of these pieces."""


class Ink(StrEnum):
    """How a shape is drawn."""

    BODY = "body"
    """The animal's outline on a faint ground."""
    LINE = "line"
    """A line on the animal or at it."""
    FAINT = "faint"
    """A thin line: a fold, the edge of a segment."""
    SOLID = "solid"
    """Filled: a head of known width, a dark mark."""
    TONE = "tone"
    """Half filled: a lighter mark."""
    PLACE = "place"
    """What is not the animal: the twig that it hangs from, its cocoon."""
    GUESS = "guess"
    """A dashed outline: of no known size."""


class Ellipse(Struct, frozen=True):
    """An ellipse around (`x`, `y`)."""

    x: float
    y: float
    rx: float
    ry: float
    ink: Ink

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        return self.x - self.rx, self.y - self.ry, self.x + self.rx, self.y + self.ry

    def moved(self, dx: float, dy: float, scale: float = 1.0) -> Ellipse:
        """The same, scaled around the origin and then shifted."""
        x, y = self.x * scale + dx, self.y * scale + dy
        return replace(self, x=x, y=y, rx=self.rx * scale, ry=self.ry * scale)


class Curve(Struct, frozen=True):
    """A line of cubic Bézier pieces from `start`; each piece has two handles and its end."""

    start: Point
    pieces: tuple[Cubic, ...]
    ink: Ink
    closed: bool = False

    def points(self) -> list[Point]:
        """Points close to each other along the curve."""
        found = [self.start]
        here = self.start
        for one, two, end in self.pieces:
            found += [
                (
                    w0 * here[0] + w1 * one[0] + w2 * two[0] + w3 * end[0],
                    w0 * here[1] + w1 * one[1] + w2 * two[1] + w3 * end[1],
                )
                for w0, w1, w2, w3 in _WEIGHTS
            ]
            here = end
        return found

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        xs, ys = zip(*self.points(), strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def length(self) -> float:
        """How long it is."""
        return sum(math.dist(a, b) for a, b in pairwise(self.points()))

    def moved(self, dx: float, dy: float, scale: float = 1.0) -> Curve:
        """The same, scaled around the origin and then shifted."""

        def move(point: Point) -> Point:
            return point[0] * scale + dx, point[1] * scale + dy

        pieces = tuple((move(a), move(b), move(c)) for a, b, c in self.pieces)
        return replace(self, start=move(self.start), pieces=pieces)


Shape = Ellipse | Curve


def through(points: Sequence[Point], ink: Ink, *, closed: bool = False) -> Curve:
    """A smooth curve through points: Catmull & Rom 1974, as cubic Bézier pieces."""
    around = [points[-1], *points, points[0], points[1]] if closed else _with_ends(points)
    pieces = []
    for a, b, c, d in zip(around, around[1:], around[2:], around[3:], strict=False):
        one = (b[0] + (c[0] - a[0]) / 6, b[1] + (c[1] - a[1]) / 6)
        two = (c[0] - (d[0] - b[0]) / 6, c[1] - (d[1] - b[1]) / 6)
        pieces.append((one, two, c))
    return Curve(points[0], tuple(pieces), ink, closed)


def _with_ends(points: Sequence[Point]) -> list[Point]:
    return [points[0], *points, points[-1]]


def straight(points: Sequence[Point], ink: Ink, *, closed: bool = False) -> Curve:
    """Straight lines from point to point."""
    whole = [*points, points[0]] if closed else list(points)
    return Curve(whole[0], tuple((a, b, b) for a, b in pairwise(whole)), ink, closed)


def of_length(curve: Curve, length: float) -> Curve:
    """The same curve from the same start, as long as is asked."""
    x, y = curve.start
    scale = length / curve.length()
    return curve.moved(x * (1 - scale), y * (1 - scale), scale)


def bounds(shapes: Iterable[Shape]) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of all shapes together."""
    left, top, right, bottom = zip(*(each.bounds() for each in shapes), strict=True)
    return min(left), min(top), max(right), max(bottom)
