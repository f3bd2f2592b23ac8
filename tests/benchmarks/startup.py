"""How long short commands take from the shell, beside Python importing click alone.

Run it with: python -m tests.benchmarks.startup
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace

import rearlog
from rearlog.records.incoming import telling
from rearlog.records.log import ConstantTemperature
from rearlog.store.cohort_file import CohortFile
from tests.benchmarks.costs import REARLOG, Cost, Task, of_process, side_by_side
from tests.benchmarks.goals import Goal, no_slower, show

ROUNDS = 21
SHELF = 30
SAMPLE = Path(__file__).parents[2] / "sample_cohorts" / "room.json"
MIDWAY = datetime.fromisoformat("2026-03-24T12:00+00:00")
"""A moment in the sample at which its animals are larvae."""


def sample_of_today(path: Path) -> None:
    """Write the sample cohort as it stood at MIDWAY, as if that were now."""
    log = rearlog.open(SAMPLE).log.as_of(MIDWAY)
    now = datetime.now(UTC).replace(microsecond=0)
    later = timedelta(days=(now - MIDWAY).days)
    file = CohortFile(path)
    file.create(
        replace(log.cohort, started=log.cohort.started + later, created=log.cohort.started + later),
        [
            replace(
                each,
                entered_at=each.entered_at + later,
                laid_after=each.laid_after and each.laid_after + later,
                laid_by=each.laid_by and each.laid_by + later,
            )
            for each in log.individuals
        ],
    )
    checks = [replace(each, at=each.at + later) for each in log.all_observations]
    file.record([telling(checks)], now)
    (kept,) = log.all_temperatures
    assert isinstance(kept, ConstantTemperature)
    file.add_temperatures([replace(kept, first=kept.first + later, last=None)], now)


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sample_of_today(folder / "kept.json")
        shelf = folder / "shelf"
        shelf.mkdir()
        for number in range(SHELF):
            shutil.copy(folder / "kept.json", shelf / f"kept{number}.json")

        def log(_round: int) -> Cost:
            shutil.copy(folder / "kept.json", folder / "room.json")
            return of_process([*REARLOG, "log", "room", "rest same", "-q"], folder)

        tasks: dict[str, Task] = {
            "import click": lambda _: of_process([sys.executable, "-c", "import click"]),
            "--help": lambda _: of_process([*REARLOG, "--help"]),
            "today": lambda _: of_process([*REARLOG, "today", "kept"], folder),
            "log": log,
            "(30 cohorts)": lambda _: of_process(REARLOG, shelf),
            "today (30 cohorts)": lambda _: of_process([*REARLOG, "today"], shelf),
        }
        costs = side_by_side(tasks, ROUNDS)
    return [
        *(
            no_slower(f"rearlog {name}", costs[name], "import click", costs["import click"], most)
            for name, most in (("--help", 1.1), ("today", 4.0), ("log", 2.2))
        ),
        no_slower(
            "rearlog (30 cohorts)",
            costs["(30 cohorts)"],
            "rearlog today (30 cohorts)",
            costs["today (30 cohorts)"],
            2.0,
        ),
    ]


if __name__ == "__main__":
    show(goals())
