"""Bodies that are the same on both sides of a line: eggs and pupae."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from rearlog.drawings.strokes import Curve, Ink, Point, through

HalfWidth = Callable[[float], float]
"""Half the width (0 to 1) at a share (0 to 1) of the way from one end to the other."""

_STEPS = 14


def superellipse(power: float, lean: float = 0.0) -> HalfWidth:
    """An ellipse that is rounder (2) or squarer (4); a positive `lean` makes the far end narrower.

    The widest place has a half width of 1.
    """

    def half(t: float) -> float:
        side: float = max(0.0, 1 - abs(2 * t - 1) ** power) ** (1 / power)
        return side * (1 - lean * (2 * t - 1))

    most = max(half(step / 200) for step in range(201))
    return lambda t: half(t) / most


def spindle(t: float) -> float:
    """Pointed at both ends."""
    return float(max(0.0, math.sin(math.pi * t)) ** 0.7)


def _shares() -> Iterator[float]:
    """From end to end, closer to each other at the ends, where the line turns."""
    return ((1 - math.cos(math.pi * step / _STEPS)) / 2 for step in range(_STEPS + 1))


def upright(half: HalfWidth, width: float, height: float, ink: Ink) -> Curve:
    """An outline that stands on the origin, its far end at the top."""
    right = [(half(t) * width / 2, -t * height) for t in _shares()]
    left = [(-x, y) for x, y in reversed(right[1:-1])]
    return through([*right, *left], ink, closed=True)


def meridian(half: HalfWidth, width: float, height: float, share: float, ink: Ink) -> Curve:
    """A line from near the base to near the top, at a share (−1 to 1) of the half width."""
    points: list[Point] = [
        (share * half(t) * width / 2, -t * height) for t in _shares() if 0.04 < t < 0.96
    ]
    return through(points, ink)


def ring(half: HalfWidth, width: float, height: float, t: float, ink: Ink) -> Curve:
    """A line across, bent as on something round."""
    reach, y = half(t) * width / 2, -t * height
    return through([(-reach, y), (0.0, y + 0.16 * reach), (reach, y)], ink)
