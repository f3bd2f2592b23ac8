"""Older file formats, and the steps that bring them up to today's.

To change the format, raise FORMAT and add to MIGRATIONS the function that turns the tables of the
format before into those of the new one. The old file is kept as a backup when it is first written.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from rearlog.records.errors import StoreError

FORMAT = 2
"""The number of the file format that this version writes."""

Migration = Callable[[dict[str, Any]], dict[str, Any]]


def _marks_in_lists(tables: dict[str, Any]) -> dict[str, Any]:
    """Format 1 had one mark a record, `struck`; format 2 has a list of `marks`.

    Format 1 wrote “no change” as the stage of the look before. Which stages were such copies nobody
    can know, so every stage stays what somebody said.
    """
    return tables | {
        name: {number: _with_list(each) for number, each in tables[name].items()}
        for name in ("observations", "temperatures")
        if name in tables
    }


def _with_list(document: Any) -> Any:
    if not isinstance(document, dict) or "struck" not in document:
        return document
    rest = {name: value for name, value in document.items() if name != "struck"}
    return rest | {"marks": [document["struck"]]}


MIGRATIONS: dict[int, Migration] = {1: _marks_in_lists}
"""Format number → the step to the next. Format 1 is the first."""


def migrated(tables: dict[str, Any], number: int, path: Path) -> dict[str, Any]:
    """The tables of a file of format `number` in today's format.

    Raises StoreError where no step leads on from it, or the tables are not what the step expects.
    """
    for step in range(number, FORMAT):
        if step not in MIGRATIONS:
            raise StoreError(f"{path} has format {number}, which this rearlog does not know")
        try:
            tables = MIGRATIONS[step](tables)
        except (KeyError, TypeError, ValueError) as error:
            raise StoreError(
                f"{path} cannot be brought from format {step} to {step + 1}: {error!r}"
            ) from error
    return tables
