"""Which of several means differ, each pair corrected for the number of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from msgspec import Struct

from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.differences import (
    Difference,
    mean_difference,
    welch_freedom,
)
from rearlog.analysis.statistics.levels import CONFIDENCE
from rearlog.analysis.statistics.studentized_range import above, limit


class PairOfMeans(Struct, frozen=True):
    """Group `first` less group `second` (places from 0): the difference with its interval and p,
    both for all pairs together; p is None where there is no interval."""

    first: int
    second: int
    difference: Difference
    p: float | None


def pairs_of_means(groups: Sequence[CheckedMean]) -> tuple[PairOfMeans, ...]:
    """All pairs of two or more means, whose spreads need not be equal, two-sided.

    Two are compared by Welch's test. Of more each pair is referred to the studentized range of
    them all: then at least one of the intervals misses in 5 % of cases. It has neither interval
    nor p with fewer than `FEWEST_FOR_TEST` values on a side.
    Source: Games & Howell 1976, J. Educ. Stat. 1:113–125.
    """
    return tuple(
        _pair(groups, first, second) for first, second in combinations(range(len(groups)), 2)
    )


def _pair(groups: Sequence[CheckedMean], first: int, second: int) -> PairOfMeans:
    from scipy.special import stdtr  # start-up time

    a, b = groups[first], groups[second]
    alone = mean_difference(a, b)
    if alone.low is None:
        return PairOfMeans(first, second, alone, None)
    k, freedom, se = len(groups), welch_freedom(a, b), math.hypot(a.se, b.se)
    t = abs(alone.estimate) / se
    if k == 2:
        return PairOfMeans(first, second, alone, float(2 * stdtr(freedom, -t)))
    p = above(2**0.5 * t, k, freedom)
    margin = limit(1 - CONFIDENCE, k, freedom) * se / 2**0.5
    adjusted = Difference(alone.estimate, alone.estimate - margin, alone.estimate + margin)
    return PairOfMeans(first, second, adjusted, p)


def letters(k: int, different: Sequence[tuple[int, int]]) -> tuple[str, ...]:
    """For k groups the letters that two of them share if, and only if, they are not `different`.

    The groups are lettered in their order, a first. Source: Piepho 2004, J. Comput. Graph. Stat.
    13:456–466: insert a column for each difference, absorb what another column holds.
    """
    columns = [frozenset(range(k))]
    for pair in different:
        parted = []
        for column in columns:
            halves = [column - {one} for one in pair] if column.issuperset(pair) else [column]
            parted += halves
        columns = [
            column
            for place, column in enumerate(parted)
            if not any(
                column < other or (column == other and place > earlier)
                for earlier, other in enumerate(parted)
            )
        ]
    columns.sort(key=sorted)
    return tuple(
        "".join(_letter(place) for place, column in enumerate(columns) if group in column)
        for group in range(k)
    )


def _letter(place: int) -> str:
    """The letters a to z, then a2 to z2 and so on."""
    more, which = divmod(place, 26)
    return chr(ord("a") + which) + (str(more + 1) if more else "")
