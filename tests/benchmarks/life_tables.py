"""How long the errors of a life table take: 10,000 resamples of 200 whole lives.

Run it with: python -m tests.benchmarks.life_tables
"""

from __future__ import annotations

from rearlog.analysis.reproduction.estimates import RESAMPLES, estimates
from rearlog.analysis.reproduction.schedules import unit_sums
from tests.analysis.reproduction.invented_lives import drawn_lives
from tests.benchmarks.costs import of_call, side_by_side
from tests.benchmarks.goals import Goal, show, within

ROUNDS = 3
INDIVIDUALS = 200
MOST_SECONDS = 5


def goals() -> list[Goal]:
    lives = drawn_lives(INDIVIDUALS, seed=1)
    costs = side_by_side(
        {"ours": lambda _: of_call(lambda: estimates(unit_sums(lives)))},
        ROUNDS,
    )
    what = f"life table of {INDIVIDUALS}, {RESAMPLES:,} resamples"
    return [within(what, costs["ours"].clock, MOST_SECONDS, "s")]


if __name__ == "__main__":
    show(goals())
