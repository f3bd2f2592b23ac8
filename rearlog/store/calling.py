"""How a command has to be given a cohort file: the inverse of `opening.place_of`."""

from __future__ import annotations

import os
import shlex
from pathlib import Path

from rearlog.records.errors import RearlogError
from rearlog.records.values import LABEL
from rearlog.settings import usual
from rearlog.store.durable import HIDDEN


def called(path: Path) -> str:
    """What a command calls a cohort file: its name in the usual folder, or else its path.

    A path is quoted where a shell needs it. A backup stands for the file of which it is a copy.
    """
    if path.parent.name == HIDDEN:
        path = path.parent.parent / f"{path.name.partition('.json')[0]}.json"
    name = path.stem
    if path.suffix == ".json" and LABEL.fullmatch(name) and name[0] != "-" and _is_usual(path):
        return name
    told = str(path)
    bare = os.sep not in told and path.suffix != ".json"
    return shlex.quote(os.path.join(".", told) if bare or told.startswith("-") else told)


def _is_usual(path: Path) -> bool:
    """Whether a file lies in the usual folder; not, where the settings that say it are wrong."""
    try:
        folder = usual.folder()
    except RearlogError:
        return False
    return os.path.realpath(path.parent) == os.path.realpath(folder)
