"""How long the page of the three sample cohorts takes, beside as many bare axes.

Run it with: python -m tests.benchmarks.report
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from unittest.mock import patch

from matplotlib.figure import Figure

from rearlog.charts.output import on_page
from rearlog.notebook import Notebook
from rearlog.present.contents import contents
from rearlog.present.page import page
from tests.benchmarks.costs import REARLOG, of_process, side_by_side
from tests.benchmarks.goals import Goal, no_slower, show

ROUNDS = 5
FOLDER = Path(__file__).parent
SAMPLES = [
    FOLDER.parents[1] / "sample_cohorts" / f"{name}.json" for name in ("cool", "room", "warm")
]


def axes_drawn() -> list[int]:
    """How many axes each picture of the page has."""
    counts: list[int] = []

    def counting(figure: Figure, prefix: str) -> str:
        counts.append(len(figure.axes))
        return on_page(figure, prefix)

    with patch("rearlog.present.page.on_page", counting):
        page(contents([Notebook(path) for path in SAMPLES]))
    return counts


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        written = Path(name) / "page.html"
        command: list[str | Path] = [
            *REARLOG,
            "report",
            *SAMPLES,
            "-o",
            written,
            "--force",
            "--quiet",
        ]
        counts = axes_drawn()
        bare: list[str | Path] = [sys.executable, FOLDER / "bare_axes.py", *map(str, counts)]
        costs = side_by_side(
            {"report": lambda _: of_process(command), "bare": lambda _: of_process(bare)}, ROUNDS
        )
    beside = f"{sum(counts)} bare axes in {len(counts)} pictures"
    return [no_slower("the page of three samples", costs["report"], beside, costs["bare"], 2)]


if __name__ == "__main__":
    show(goals())
