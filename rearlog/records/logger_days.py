"""Which days a logger's readings cover, from end to end."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import pairwise

from rearlog.records.clock import SECONDS_PER_DAY, midnights
from rearlog.records.log import Readings

LONGEST_READING_GAP_DAYS = 0.25
"""Two logger readings farther apart than this do not tell the curve between them."""
LEAST_SPOILT_DAYS = 1 / 24
"""So much of a day, or less, may lie in a longer gap (one that ends soon after midnight, say): the
day still counts as recorded."""
_TINY = 1e-9


def days_covered(runs: Iterable[Readings], days: list[date], zone: str) -> Iterator[date]:
    """Of `days`, which follow each other, those that readings cover: no more than LEAST_SPOILT_DAYS
    of them lie in gaps of more than LONGEST_READING_GAP_DAYS.

    What is before the first reading and after the last is a gap from or to a midnight.
    """
    times = sorted(run.at.timestamp() + each for run in runs for each in run.seconds)
    if not times or not days:
        return
    edges = [each.timestamp() for each in midnights(days[0], len(days), zone)]
    for day, (begin, end) in zip(days, pairwise(edges), strict=True):
        first, until = bisect_left(times, begin), bisect_left(times, end)
        if first == until:
            continue
        before = times[first - 1] if first else begin
        after = times[until] if until < len(times) else end
        gaps = pairwise([before, *times[first:until], after])
        longest = LONGEST_READING_GAP_DAYS * SECONDS_PER_DAY
        spoilt = sum(min(high, end) - max(low, begin) for low, high in gaps if high - low > longest)
        if spoilt / SECONDS_PER_DAY <= LEAST_SPOILT_DAYS + _TINY:
            yield day
