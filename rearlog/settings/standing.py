"""All that holds for the user, and where it is said."""

from __future__ import annotations

import os

from msgspec import Struct

from rearlog.settings import usual
from rearlog.settings.file import Settings, keys, value_of

_VARIABLES = {"by": usual.INITIALS, "folder": usual.FOLDER}
_ELSE = Settings()


class Setting(Struct, frozen=True):
    """What holds under one key, None where nothing does; `said_by` is a variable of the
    environment, the `file`, or nobody (None)."""

    key: str
    value: str | None
    said_by: str | None


class StandingSettings(Struct, frozen=True):
    """All settings, in the order of the file at `path`, which may be missing."""

    path: str
    there: bool
    settings: tuple[Setting, ...]


def standing() -> StandingSettings:
    """What holds now; raises SettingsError where the file is wrong."""
    read = usual.settings()
    return StandingSettings(
        str(usual.path()), read is not None, tuple(_held(each, read) for each in keys())
    )


def _held(key: str, read: Settings | None) -> Setting:
    variable = _VARIABLES.get(key, "")
    if said := os.environ.get(variable):
        return Setting(key, said, f"${variable}")
    value = value_of(read or _ELSE, key)
    own = read is not None and value != value_of(_ELSE, key)
    return Setting(key, value, "file" if own else None)
