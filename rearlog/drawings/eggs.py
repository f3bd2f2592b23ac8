"""Eggs: their greatest extent is known at best; how wide they are for it goes with the shape."""

from __future__ import annotations

from rearlog.drawings.outlines import HalfWidth, meridian, spindle, superellipse, upright
from rearlog.drawings.strokes import Ellipse, Ink, Shape, through

_OUTLINES: dict[str, tuple[HalfWidth, float]] = {
    "oval": (superellipse(2.0, lean=0.28), 0.72),
    "barrel": (superellipse(2.5), 0.76),
    "skittle": (superellipse(2.5, lean=0.3), 0.45),
    "spindle": (spindle, 0.42),
}
"""Half widths from base to top, and the width for a height of 1."""
_RIBS = (-0.72, -0.36, 0.0, 0.36, 0.72)


def egg(size: float, shape: str | None, marks: frozenset[str], outline: Ink) -> list[Shape]:
    """An egg of that greatest extent; an upright oval where its shape is not known."""
    if shape == "ball":
        return [Ellipse(0, 0, size / 2, size / 2, outline)]
    if shape == "disc":
        rim = Ellipse(0, 0, 0.36 * size, 0.36 * size, Ink.FAINT)
        return [Ellipse(0, 0, size / 2, size / 2, outline), rim]
    if shape == "grain":
        return [Ellipse(0, 0, size / 2, 0.19 * size, outline), *_threads(size, marks)]
    half, width = _OUTLINES.get(shape or "oval", _OUTLINES["oval"])
    ribs = _RIBS if "ribs" in marks else ()
    lines = [meridian(half, width * size, size, share, Ink.LINE) for share in ribs]
    return [upright(half, width * size, size, outline), *lines]


def _threads(size: float, marks: frozenset[str]) -> list[Shape]:
    if "threads" not in marks:
        return []
    base = (-0.40 * size, -0.11 * size)
    ends = ((-0.62, -0.34), (-0.46, -0.42))
    return [
        through([base, ((base[0] + x * size) / 2, y * size / 1.6), (x * size, y * size)], Ink.LINE)
        for x, y in ends
    ]
