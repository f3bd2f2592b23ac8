"""How long the answers of a year take: durations, survival and heat of 1,000 individuals.

Beside the least that it could take, and the same answers with pandas and lifelines.
Run it with: python -m tests.benchmarks.answers
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.benchmarks.costs import Task, of_process, side_by_side
from tests.benchmarks.goals import Goal, faster, no_slower, show
from tests.benchmarks.made_logs import Size, write

ROUNDS = 7
SIZE = Size(individuals=1000, checks=100, readings=True)
FOLDER = Path(__file__).parent
SCRIPTS = ("answers_here", "answers_floor", "answers_in_pandas")


def command(script: str, path: Path) -> list[str]:
    return [sys.executable, str(FOLDER / f"{script}.py"), str(path)]


def refuse_other_answers(path: Path) -> None:
    """Raise AssertionError unless both scripts give the same answers."""
    here, pandas = (
        json.loads(subprocess.run(command(script, path), capture_output=True, check=True).stdout)
        for script in ("answers_here", "answers_in_pandas")
    )
    found = differences(here, pandas, "answers")
    assert not found, found


def differences(here: Any, there: Any, place: str) -> list[str]:
    """Where two answers are not alike to a millionth."""
    if isinstance(here, dict) and here.keys() == there.keys():
        return [
            each for key in here for each in differences(here[key], there[key], f"{place}.{key}")
        ]
    if isinstance(here, list) and len(here) == len(there):
        return [
            each
            for number, pair in enumerate(zip(here, there, strict=True))
            for each in differences(*pair, f"{place}.{number}")
        ]
    alike = isinstance(here, int | float) and math.isclose(here, there, rel_tol=1e-6)
    return [] if alike else [f"{place}: {here} and {there}"]


def _running(words: Sequence[str | Path]) -> Task:
    return lambda _: of_process(words)


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "year.json"
        write(path, SIZE)
        refuse_other_answers(path)
        costs = side_by_side(
            {script: _running(command(script, path)) for script in SCRIPTS},
            ROUNDS,
        )
    ours, floor, pandas = (costs[script] for script in SCRIPTS)
    what = f"durations, survival, heat of {SIZE.individuals:,} × {SIZE.checks}"
    return [
        no_slower(what, ours, "numpy, read, parse", floor, 2),
        faster(what, ours, "pandas, lifelines", pandas, 5),
    ]


if __name__ == "__main__":
    show(goals())
