"""The log and the arithmetic for raising insects from the egg.

In a notebook, a cohort is opened for its answers; each is a frozen struct that becomes a table:

    >>> import rearlog
    >>> room = rearlog.open("sample_cohorts/room.json")
    >>> room.survival().reached.n
    23
    >>> rearlog.words(room.survival())[1]
    'Of 24 in all: 6 died, 1 lost, 17 taken out alive, none alive at the last check.'
    >>> room.durations().to_frame().loc[:2, ["cohort", "stage", "completed"]]
      cohort stage  completed
    0   room   egg         21
    1   room    L1         20
    2   room    L2         20

Nothing of it is loaded before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rearlog.interface.offered import chart, compare, record, season, thermal
    from rearlog.interface.offered import open_cohort as open
    from rearlog.interface.speaker import words
    from rearlog.notebook.heat_options import HeatOptions
    from rearlog.records.errors import (
        EntryError,
        ImportRefused,
        ProfileError,
        RearlogError,
        RecordError,
        StoreError,
        UsageError,
    )
    from rearlog.settings.file import SettingsError

__version__ = "0.1.0"

__all__ = [
    "EntryError",
    "HeatOptions",
    "ImportRefused",
    "ProfileError",
    "RearlogError",
    "RecordError",
    "SettingsError",
    "StoreError",
    "UsageError",
    "chart",
    "compare",
    "open",
    "record",
    "season",
    "thermal",
    "words",
]

_ERRORS = "records.errors"
_PLACES = {
    "EntryError": _ERRORS,
    "HeatOptions": "notebook.heat_options",
    "ImportRefused": _ERRORS,
    "ProfileError": _ERRORS,
    "RearlogError": _ERRORS,
    "RecordError": _ERRORS,
    "SettingsError": "settings.file",
    "StoreError": _ERRORS,
    "UsageError": _ERRORS,
    "chart": "interface.offered",
    "compare": "interface.offered",
    "open": "interface.offered",
    "record": "interface.offered",
    "season": "interface.offered",
    "thermal": "interface.offered",
    "words": "interface.speaker",
}
"""Where what is offered stands: no command loads any of it before it is asked for."""


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    home = import_module(f"{__name__}.{_PLACES[name]}")
    return getattr(home, "open_cohort" if name == "open" else name)


def __dir__() -> list[str]:
    return sorted(__all__)
