"""How time and memory grow from 10,000 to 1,000,000 observations, and pictures of many animals.

Run it with: python -m tests.benchmarks.sizes
"""

from __future__ import annotations

import sys
import tempfile
from itertools import pairwise
from pathlib import Path

import rearlog
from tests.benchmarks.costs import REARLOG, Cost, Task, of_call, of_process, side_by_side
from tests.benchmarks.goals import Goal, no_slower, show, within
from tests.benchmarks.log_entry import rearlog_entry
from tests.benchmarks.made_logs import Size, write

ROUNDS = 3
SIZES = [Size(individuals, checks=100) for individuals in (100, 1_000, 10_000)]
PAGE = Size(1_000, checks=100, readings=True)
KINDS = ("progress", "stages", "durations", "heat", "survival")
LINEAR = 1.15
MOST_MB, MOST_SECONDS = 2000, 10
FOLDER = Path(__file__).parent


def answers(path: Path) -> None:
    cohort = rearlog.open(path)
    cohort.durations(), cohort.survival(), cohort.heat()


def growth(what: str, costs: dict[str, Cost], sizes: list[str]) -> list[Goal]:
    """From each size to the next, ten times as much: beside ten times the time."""
    return [
        no_slower(f"{what}, {more}", costs[more], f"10 × {less}", tenfold(costs[less]), LINEAR)
        for less, more in pairwise(sizes)
    ]


def tenfold(cost: Cost) -> Cost:
    return Cost(10 * cost.clock, 10 * cost.computing)


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = {f"{size.observations:,}": folder / f"of{size.individuals}.json" for size in SIZES}
        for size, path in zip(SIZES, paths.values(), strict=True):
            write(path, size)
        write(folder / "year.json", PAGE)
        found = growth("answers", side_by_side(asked(paths), ROUNDS), list(paths))
        found += growth("one entry", side_by_side(entered(paths), ROUNDS), list(paths))
        peak = of_process([sys.executable, FOLDER / "answers_here.py", paths["1,000,000"]]).peak_mb
        found.append(within("memory, 1,000,000 observations", peak, MOST_MB, "MB"))
        for kind in KINDS:
            found.append(drawn(f"chart {kind} of 1,000", ["chart", kind, "year"], folder))
        found.append(drawn("report of 1,000", ["report", "year"], folder))
    return found


def asked(paths: dict[str, Path]) -> dict[str, Task]:
    return {
        size: lambda _, path=path: of_call(lambda: answers(path)) for size, path in paths.items()
    }


def entered(paths: dict[str, Path]) -> dict[str, Task]:
    return {
        size: lambda round_, path=path: of_call(lambda: rearlog_entry(path, round_))
        for size, path in paths.items()
    }


def drawn(what: str, words: list[str], folder: Path) -> Goal:
    ending = ".html" if words[0] == "report" else ".svg"
    cost = of_process([*REARLOG, *words, "-o", f"{words[-2]}{ending}", "-q"], folder)
    return within(what, cost.clock, MOST_SECONDS, "s")


if __name__ == "__main__":
    show(goals())
