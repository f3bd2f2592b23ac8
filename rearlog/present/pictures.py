"""The charts by their names, and which answers each of them shows."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from rearlog.notebook import Notebook, compare, thermal

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style

OF_EACH: dict[str, Callable[[Notebook], Any]] = {
    "progress": Notebook.progress,
    "stages": Notebook.stage_counts,
    "durations": Notebook.durations,
    "heat": Notebook.heat,
    "survival": Notebook.survival,
    "growth": Notebook.growth,
    "forecast": Notebook.forecast,
    "agreement": Notebook.agreement,
}
"""Charts made from a list of one answer about each cohort."""


OF_ALL: dict[str, Callable[[Sequence[Notebook]], Any]] = {"rate": thermal, "pace": compare}
"""Charts made from one answer about all cohorts."""


KINDS = (*OF_EACH, *OF_ALL)
SIZES = ("phone", "column", "double", "page", "slide", "poster")
"""What charts are drawn for: the names of `charts.style.LOOKS`, which takes matplotlib to load."""


def draw(
    kind: str,
    notebooks: Sequence[Notebook],
    look: Style,
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> Figure:
    """The chart of one kind for some cohorts; `stage` is for that of rates, `first` and `by` for
    that of survival."""
    painter = getattr(importlib.import_module(f"rearlog.charts.{kind}"), kind)
    invented = any(each.log.cohort.invented for each in notebooks)
    if kind in OF_ALL:
        result = OF_ALL[kind](notebooks)
    elif by is not None:
        result = [each for one in notebooks for each in one.survival_by_sex(first).groups]
    elif first is not None:
        result = [each.survival(first) for each in notebooks]
    else:
        result = [OF_EACH[kind](each) for each in notebooks]
    beside: dict[str, Any] = {"stage": stage} if kind == "rate" else {}
    if kind == "heat":  # it marks when the stages were reached
        beside["stage_counts"] = [each.stage_counts() for each in notebooks]
    if len(notebooks) > 1 and kind == "heat":
        beside["compared"] = compare(notebooks)
    if len(notebooks) > 1 and kind == "survival" and by is None:
        beside["compared"] = compare(notebooks, first).survival
    figure: Figure = painter(result, look, invented=invented, **beside)
    return figure
