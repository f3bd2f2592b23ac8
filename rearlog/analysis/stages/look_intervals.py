"""How far the looks at each individual lie apart."""

from __future__ import annotations

from itertools import pairwise
from statistics import median

from msgspec import Struct

from rearlog.records.log import CohortLog


class LookIntervals(Struct, frozen=True):
    """The time from one look at an individual to the next, in days, over all that were followed:
    how many `looks` there are, entries not counted, and the median and the longest interval."""

    looks: int
    median_days: float
    longest_days: float


def look_intervals(log: CohortLog) -> LookIntervals | None:
    """The intervals between looks that stand, each individual's from its entry on; None without
    any look."""
    days = log.cohort.clock.days
    found = [
        days(after) - days(before)
        for code, checks in log.checks.items()
        for before, after in pairwise([log.by_code[code].entered_at, *(each.at for each in checks)])
    ]
    if not found:
        return None
    return LookIntervals(len(found), median(found), max(found))
