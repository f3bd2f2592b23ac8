"""Cohorts opened for their answers. Every command, the report and the charts ask here.

A log is read once, when the first answer is asked for, and what several answers rest on is worked
out once. Answers are frozen structs; their fields are the keys of the JSON that the commands
write.

    >>> import rearlog
    >>> warm = rearlog.open("sample_cohorts/warm.json")
    >>> pupa = next(each for each in warm.durations().stages if each.stage == "pupa")
    >>> pupa.completed, round(pupa.mean, 1)
    (17, 6.0)
    >>> reached = warm.survival().reached
    >>> f"{reached.reached} of {reached.n} reached the stage {reached.stage}"
    '17 of 24 reached the stage adult'
    >>> cool = rearlog.open("sample_cohorts/cool.json")
    >>> round(rearlog.notebook.compare([cool, warm]).survival.p, 1)
    0.3
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rearlog.notebook.apart import labelled, refuse_copies, told_apart
    from rearlog.notebook.by_temperature import growth_by_heat, thermal
    from rearlog.notebook.cohort import Notebook
    from rearlog.notebook.comparing import compare, compare_reproduction, factorial
    from rearlog.notebook.generations import lineage
    from rearlog.notebook.groups import GroupNotebook, grouped, survival_by
    from rearlog.notebook.heat_options import HeatOptions
    from rearlog.notebook.history import History
    from rearlog.notebook.learning import learn
    from rearlog.notebook.publishing import LogsIn, open_data

__all__ = [
    "GroupNotebook",
    "HeatOptions",
    "History",
    "LogsIn",
    "Notebook",
    "compare",
    "compare_reproduction",
    "factorial",
    "grouped",
    "growth_by_heat",
    "labelled",
    "learn",
    "lineage",
    "open_data",
    "refuse_copies",
    "survival_by",
    "thermal",
    "told_apart",
]

_MODULES = {
    "apart": ("labelled", "refuse_copies", "told_apart"),
    "by_temperature": ("growth_by_heat", "thermal"),
    "cohort": ("Notebook",),
    "comparing": ("compare", "compare_reproduction", "factorial"),
    "groups": ("GroupNotebook", "grouped", "survival_by"),
    "heat_options": ("HeatOptions",),
    "history": ("History",),
    "learning": ("learn",),
    "generations": ("lineage",),
    "publishing": ("LogsIn", "open_data"),
}
_PLACES = {name: module for module, names in _MODULES.items() for name in names}


def __getattr__(name: str) -> Any:
    """What is offered here is loaded when it is asked for: a command needs one or two of them."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PLACES[name]}"), name)
