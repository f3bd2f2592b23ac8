"""How long the NPMLE of interval-censored durations takes, beside that of lifelines.

lifelines does not manage 10,000 intervals in any time that one would wait for: it gets FEW of
them, and is beaten at those; ours gets 10,000 as well, and those are set beside its FEW.
Run it with: python -m tests.benchmarks.intervals
"""

from __future__ import annotations

import numpy as np
from lifelines.fitters.npmle import npmle

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.turnbull import turnbull
from tests.benchmarks.costs import of_call, side_by_side
from tests.benchmarks.goals import Goal, faster, show

ROUNDS = 3
FEW, MANY = 700, 10_000
SEED = 7


def made_intervals(n: int) -> tuple[Floats, Floats]:
    """Durations of about ten days, looked for every one to two days; some never seen to end."""
    rng = np.random.default_rng(SEED)
    gap = rng.uniform(0.5, 2.0, n)
    left = np.maximum(0.0, 10 * rng.weibull(5.0, n) - rng.uniform(0.0, 1.0, n) * gap)
    return left, np.where(rng.random(n) < 0.15, np.inf, left + gap)


def refuse_a_lower_likelihood(left: Floats, right: Floats) -> None:
    """Raise AssertionError where lifelines finds a better estimate."""
    mass, inner = npmle(left, right)
    below = np.append(0.0, np.cumsum(mass))
    first = np.searchsorted([each.left for each in inner], left)
    beyond = np.searchsorted([each.right for each in inner], right, side="right")
    theirs = float(np.log(below[beyond] - below[first]).sum())
    ours = turnbull(left, right).log_likelihood
    assert ours >= theirs - 1e-9 * abs(theirs), (ours, theirs)


def goals() -> list[Goal]:
    few, many = made_intervals(FEW), made_intervals(MANY)
    refuse_a_lower_likelihood(*few)
    costs = side_by_side(
        {
            "ours, few": lambda _: of_call(lambda: turnbull(*few)),
            "ours, many": lambda _: of_call(lambda: turnbull(*many)),
            "lifelines": lambda _: of_call(lambda: npmle(*few)),
        },
        ROUNDS,
    )
    beside, theirs = f"lifelines, {FEW} intervals", costs["lifelines"]
    return [
        faster(f"NPMLE of {FEW:,} intervals", costs["ours, few"], beside, theirs, 20),
        faster(f"NPMLE of {MANY:,} intervals", costs["ours, many"], beside, theirs, 20),
    ]


if __name__ == "__main__":
    show(goals())
