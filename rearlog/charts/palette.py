"""The colours and marks of all charts.

Stages run from light to dark, so that they stay apart in grey print and to every kind of colour
vision; cohorts differ in lightness and dash as well as in hue; fates differ by the shape of their
mark.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cbrt
from typing import Literal

from matplotlib.colors import to_hex, to_rgb
from msgspec import Struct

INK = "#1c2530"
MUTED = "#5b6570"
HAIRLINE = "#d8dad3"
PALE = "#efeee6"
PAPER = "#ffffff"
HATCHING = "#7d837c"
ALARM = "#a3271f"
ON_LIGHT = "#10161d"
"""Letters on a light colour, which is as light on a dark page, where `INK` is not dark."""

BAND_OPACITY = 0.16
"""Of a band in the colour of its line, through which the bands of others show."""

_BY_CODE = {"egg": "#f7f0d2", "prepupa": "#75561f", "pupa": "#6b3216", "adult": "#1b2136"}
_YOUNGEST, _OLDEST = "#d5e090", "#3a7654"


class FateMark(Struct, frozen=True):
    """How a fate is drawn: the marker, whether it is filled, and its colour."""

    marker: str
    filled: bool
    colour: str


FATES = {
    "dead": FateMark("x", True, ALARM),
    "lost": FateMark("$?$", True, INK),
    "removed": FateMark(">", False, INK),
}


class CohortMark(Struct, frozen=True):
    """How a cohort is drawn wherever several stand in one chart."""

    colour: str
    dash: Literal["solid"] | tuple[int, tuple[float, ...]]
    marker: str


COHORTS = (
    CohortMark("#1f3a5f", "solid", "o"),
    CohortMark("#a8431d", (0, (5.0, 1.6)), "s"),
    CohortMark("#b5830c", (0, (1.2, 1.2)), "^"),
    CohortMark("#2f8f83", (0, (7.0, 1.4, 1.2, 1.4)), "D"),
    CohortMark("#8a4f7d", (0, (3.0, 1.2, 1.0, 1.2, 1.0, 1.2)), "v"),
    CohortMark("#5b93c0", (0, (9.0, 2.5)), "P"),
)


def cohort_mark(place: int) -> CohortMark:
    """The mark of the cohort at this place in a chart (from 0).

    After the last, colours start again with other dashes and markers: no two of 36 share both.
    """
    count = len(COHORTS)
    own, dashed, marked = (
        COHORTS[(place + shift * (place // count)) % count] for shift in (0, 1, 2)
    )
    return CohortMark(own.colour, dashed.dash, marked.marker)


def stage_colours(stages: Sequence[str]) -> dict[str, str]:
    """A colour for each stage, from light to dark: instars share a ramp of their own."""
    instars = [stage for stage in stages if stage not in _BY_CODE]
    ramp = dict(zip(instars, _ramp(len(instars)), strict=True))
    return {stage: _BY_CODE.get(stage) or ramp[stage] for stage in stages}


def colours_of(lists: Iterable[Sequence[str]]) -> dict[str, str]:
    """The colours of the stages of several cohorts, in the order in which these name them."""
    return {stage: colour for stages in lists for stage, colour in stage_colours(stages).items()}


def _ramp(count: int) -> list[str]:
    young, old = to_rgb(_YOUNGEST), to_rgb(_OLDEST)
    steps = [place / max(1, count - 1) for place in range(count)]
    mixed = [[a + (b - a) * step for a, b in zip(young, old, strict=True)] for step in steps]
    return [to_hex((red, green, blue)) for red, green, blue in mixed]


def lightness(colour: str) -> float:
    """CIE L* of a colour: 0 for black, 100 for white; what grey print shows of it.

    Source: CIE 15 (colorimetry), sRGB primaries of IEC 61966-2-1.
    """
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    luminance = sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
    if luminance > (6 / 29) ** 3:
        return 116 * cbrt(luminance) - 16
    return luminance * (29 / 3) ** 3


def text_on(colour: str) -> str:
    """The colour of text that stands on this colour: the same on light pages and dark ones."""
    return ON_LIGHT if lightness(colour) > 58 else PAPER
