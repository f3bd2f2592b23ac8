"""How long the page of the three sample cohorts takes, beside as many bare axes.

Run it with: python -m tests.benchmarks.report
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.costs import REARLOG, of_process, side_by_side
from tests.benchmarks.goals import Goal, no_slower, show

ROUNDS = 5
FOLDER = Path(__file__).parent
SAMPLES = [
    FOLDER.parents[1] / "sample_cohorts" / f"{name}.json" for name in ("cool", "room", "warm")
]
AXES = re.compile(r'id="[^"]*axes_\d+"')


def axes_in(page: str) -> list[int]:
    """How many axes each picture of a page has."""
    return [len(AXES.findall(picture)) for picture in page.split("<svg")[1:]]


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        page = Path(name) / "page.html"
        command: list[str | Path] = [*REARLOG, "report", *SAMPLES, "-o", page, "--force", "--quiet"]
        of_process(command)
        counts = axes_in(page.read_text(encoding="utf-8"))
        bare: list[str | Path] = [sys.executable, FOLDER / "bare_axes.py", *map(str, counts)]
        costs = side_by_side(
            {"report": lambda _: of_process(command), "bare": lambda _: of_process(bare)}, ROUNDS
        )
    beside = f"{sum(counts)} bare axes in {len(counts)} pictures"
    return [no_slower("the page of three samples", costs["report"], beside, costs["bare"], 2)]


if __name__ == "__main__":
    show(goals())
