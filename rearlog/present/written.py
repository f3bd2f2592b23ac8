"""What a command that writes has written, for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from rearlog.store.changes import FileChange, change_of


class Written(Struct, frozen=True):
    """What one command wrote.

    `command` is its name. `cohorts` are those whose file was written, which is none after a dry
    run, or where nothing was new. `told` is what people would have been told, a line each.
    """

    command: str
    cohorts: tuple[FileChange, ...]
    told: tuple[str, ...]


def written(
    command: str, files: Mapping[Path, tuple[bytes | None, bytes]], told: Sequence[str]
) -> Written:
    """What was written to some files, given as their content before (None: none) and after."""
    changes = tuple(change_of(path, *both) for path, both in files.items())
    return Written(command, changes, tuple(told))
