"""What was wanted beside what was measured, one line a goal."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass

from tests.benchmarks.costs import Cost


@dataclass(frozen=True, slots=True)
class Goal:
    """Something measured beside something else, and how their ratio should be.

    The goal is about `ratio`, by the clock; `computing` is the same ratio of the seconds of
    computing, which other work on the machine disturbs less.
    """

    what: str
    ours: str
    beside: str
    theirs: str
    ratio: float
    computing: float | None
    wanted: float
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether it is as wanted."""
        return self.ratio >= self.wanted if self.at_least else self.ratio <= self.wanted


def no_slower(what: str, ours: Cost, beside: str, theirs: Cost, times: float) -> Goal:
    """Ours may take so many times what something else takes."""
    ratio, computing = ours.clock / theirs.clock, ours.computing / theirs.computing
    return Goal(what, seconds(ours.clock), beside, seconds(theirs.clock), ratio, computing, times)


def faster(what: str, ours: Cost, beside: str, theirs: Cost, times: float) -> Goal:
    """Something else should take at least so many times what ours takes."""
    ratio, computing = theirs.clock / ours.clock, theirs.computing / ours.computing
    return Goal(
        what, seconds(ours.clock), beside, seconds(theirs.clock), ratio, computing, times, True
    )


def within(what: str, ours: float, most: float, unit: str) -> Goal:
    """Ours may be so much."""
    return Goal(what, f"{ours:,.2f} {unit}", "limit", f"{most:,} {unit}", ours / most, None, 1.0)


def seconds(value: float) -> str:
    """A time as people read it."""
    return f"{value * 1000:.1f} ms" if value < 1 else f"{value:.2f} s"


def show(goals: Iterable[Goal]) -> None:
    """Write the goals as a table to standard output."""
    rows = [("what", "ours", "beside", "takes", "ratio", "CPU", "goal", "met")]
    for each in goals:
        computing = "" if each.computing is None else f"{each.computing:.2f}"
        sign = "≥" if each.at_least else "≤"
        rows.append(
            (
                each.what,
                each.ours,
                each.beside,
                each.theirs,
                f"{each.ratio:.2f}",
                computing,
                f"{sign} {each.wanted:g}",
                "yes" if each.met else "NO",
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)))
    sys.stdout.flush()
