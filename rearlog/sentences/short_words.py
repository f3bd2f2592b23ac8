"""What the short words of pictures and tables mean, for those who do not know the trade."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rearlog.analysis.statistics.levels import DIFFERENT


def short_words(stages: Iterable[str], thresholds: Iterable[float], *, compared: bool) -> list[str]:
    """Those that are used where these stages and thresholds (°C) are; `compared`: cohorts are."""
    larval = [stage for stage in dict.fromkeys(stages) if re.fullmatch(r"L\d+", stage)]
    lines = ["cohort: animals that started together and are kept at the same temperatures"]
    if larval:
        lines.append(
            f"{larval[0]} to {larval[-1]}: the stages of the larva, in order from hatching; each "
            "ends when the skin is shed"
        )
    lowest = dict.fromkeys(f"{each:g}" for each in thresholds)
    if lowest:
        lines.append(
            f"degree-day: a measure of warmth, one degree above {' or '.join(lowest)} °C for one "
            "day; at colder times the animals do not grow"
        )
    lines.append("n: how many animals a number rests on")
    if compared:
        lines.append(
            "p: how often chance alone would make cohorts differ so much; below "
            f"{DIFFERENT:g} the difference is called shown"
        )
    return lines
