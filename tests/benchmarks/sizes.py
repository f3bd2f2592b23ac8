"""How time and memory grow from 10,000 to 1,000,000 observations, and pictures of many animals.

Run it with: python -m tests.benchmarks.sizes
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import rearlog
from tests.benchmarks.costs import REARLOG, Cost, Task, of_call, of_process, side_by_side
from tests.benchmarks.goals import Goal, no_slower, show, within
from tests.benchmarks.made_logs import Size, write

ROUNDS = 3
SIZES = [Size(individuals, checks=100) for individuals in (100, 1_000, 10_000)]
PAGE = Size(1_000, checks=100, readings=True)
KINDS = ("progress", "stages", "durations", "heat", "survival")
LINEAR = 1.15
MOST_MB, MOST_SECONDS = 2000, 10
FOLDER = Path(__file__).parent


def answers(path: Path) -> Cost:
    def ask() -> None:
        cohort = rearlog.open(path)
        cohort.durations(), cohort.survival(), cohort.heat()

    return of_call(ask)


def entry(path: Path) -> Cost:
    """A whole process: memory that another entry has used already is quicker to use again."""
    return of_process([*REARLOG, "log", path, "A00007 adult", "--quiet"])


def _on(path: Path, do: Callable[[Path], Cost]) -> Task:
    return lambda _: do(path)


def growth(what: str, do: Callable[[Path], Cost], paths: Sequence[Path]) -> list[Goal]:
    """The largest size beside each smaller one, times as often as that goes into it.

    In a small log much of the work does not grow, so the last step is the strictest.
    """
    tasks: dict[str, Task] = {path.name: _on(path, do) for path in paths}
    *smaller, largest = side_by_side(tasks, ROUNDS).values()
    most = SIZES[-1].observations
    return [
        no_slower(
            f"{what}, {most:,} observations",
            largest,
            f"{most // size.observations} × {size.observations:,}",
            cost.times(most // size.observations),
            LINEAR,
        )
        for size, cost in zip(SIZES, smaller, strict=False)
    ]


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = [folder / f"of{size.individuals}.json" for size in SIZES]
        for size, path in zip(SIZES, paths, strict=True):
            write(path, size)
        write(folder / "year.json", PAGE)
        found = growth("answers", answers, paths) + growth("one entry", entry, paths)
        peak = of_process([sys.executable, FOLDER / "answers_here.py", paths[-1]]).peak_mb
        found.append(within("memory of those answers", peak, MOST_MB, "MB"))
        for kind in KINDS:
            found.append(drawn(f"chart {kind} of 1,000", ["chart", kind, "year"], folder))
        found.append(drawn("report of 1,000", ["report", "year"], folder))
    return found


def drawn(what: str, words: list[str], folder: Path) -> Goal:
    ending = ".html" if words[0] == "report" else ".svg"
    cost = of_process([*REARLOG, *words, "-o", f"{words[-2]}{ending}", "-q"], folder)
    return within(what, cost.clock, MOST_SECONDS, "s")


if __name__ == "__main__":
    show(goals())
