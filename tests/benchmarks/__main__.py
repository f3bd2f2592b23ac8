"""All timings, side by side in one run: python -m tests.benchmarks"""

from __future__ import annotations

from tests.benchmarks import (
    answers,
    intervals,
    life_tables,
    log_entry,
    report,
    sizes,
    startup,
    web,
)
from tests.benchmarks.goals import show


def main() -> None:
    show(
        goal
        for each in (startup, log_entry, answers, intervals, life_tables, sizes, report, web)
        for goal in each.goals()
    )


if __name__ == "__main__":
    main()
