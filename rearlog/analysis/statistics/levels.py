"""How sure limits are, how wide windows are, and what counts as a difference. Without numpy."""

from __future__ import annotations

CONFIDENCE = 0.95
"""Confidence of every interval and of every pair of limits."""

Z_95 = 1.959963984540054
"""The normal deviate of such limits, two-sided: written out, for `statistics` loads slowly."""

WINDOW = 0.90
"""The part of what is to come that the window of a forecast holds."""

DIFFERENT = 0.05
"""A difference is called shown where the corrected p is below this."""

LEAST_TOLD = 0.05
"""Days (or degree-days) below which a gap is called none: with one decimal it is written 0.0."""


def tails(part: float) -> tuple[float, float]:
    """Where the middle `part` of a distribution begins and ends: 0.9 lies from 0.05 to 0.95."""
    below = round((1 - part) / 2, 12)  # 0.05, where floats make it 0.04999999999999999
    return below, 1 - below
