"""What is usual for the user: the environment says it, else the settings file, if there is one.

The file is looked for only where something is asked that the environment does not say, and read
only where it is there: without it nothing is loaded (start-up time).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rearlog.settings.file import Publisher, Settings

FILE, FOLDER, INITIALS = "REARLOG_SETTINGS", "REARLOG_DIR", "REARLOG_BY"
"""The variables of the environment: the settings file, the folder of cohorts, who looks."""


def path() -> Path:
    """The settings file: `$REARLOG_SETTINGS`, or the one in the user's configuration folder."""
    named = os.environ.get(FILE)
    if named:
        return Path(named)
    from click import get_app_dir  # start-up time: a notebook needs no click

    return Path(get_app_dir("rearlog")) / "settings.toml"


def settings() -> Settings | None:
    """What the file says, None where there is none; raises SettingsError where it is wrong."""
    place = path()
    try:
        found = os.stat(place)
    except (OSError, ValueError):
        return None
    from rearlog.settings.file import kept  # start-up time

    return kept(place, found.st_mtime_ns, found.st_size)


def folder() -> Path:
    """The folder in which a cohort is looked up by its name: this one, where nobody said."""
    return chosen_folder() or Path(".")


def chosen_folder() -> Path | None:
    """The folder that the environment or the file says; None where neither does."""
    named = os.environ.get(FOLDER)
    if named:
        return Path(named)
    said = settings()
    return Path(said.folder).expanduser() if said is not None and said.folder else None


def initials() -> str | None:
    """Who looks; None where nobody said."""
    said = os.environ.get(INITIALS)
    if said:
        return said
    read = settings()
    return read.by if read is not None else None


def unit() -> Literal["C", "F"]:
    """The unit of temperatures that are typed without one."""
    read = settings()
    return "F" if read is not None and read.units == "fahrenheit" else "C"


def date_order() -> str:
    """How a date of numerals is typed: `iso` (year first, and no other way), `day-first`, …"""
    read = settings()
    return read.dates if read is not None else "iso"


def publisher() -> Publisher | None:
    """Who publishes open data; None where there is no file."""
    read = settings()
    if read is None:
        return None
    from rearlog.settings.file import publisher_of  # start-up time

    return publisher_of(read)


def licence() -> str | None:
    """The licence under which the user publishes; None where nobody said."""
    read = settings()
    return read.publisher.licence if read is not None else None
