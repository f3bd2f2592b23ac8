"""Older file formats, and the steps that bring them up to today's.

To change the format, raise FORMAT and add to MIGRATIONS the function that turns the tables of the
format before into those of the new one. The old file is kept as a backup when it is first written.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from rearlog.records.errors import StoreError
from rearlog.records.identity import named_id

FORMAT = 3
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


def _with_identity(tables: dict[str, Any]) -> dict[str, Any]:
    """Format 2 told cohorts apart by their names; format 3 has an `id`, and the `site`.

    The identity is made of what is the same in all copies of a file, whatever was added, struck
    out, redacted or described since: name, zone, start and moment of writing, as a `Cohort` that is
    given none makes its own. A factor called site becomes the site.
    """
    cohorts = tables.get("cohort", {})
    return tables | {"cohort": {number: _identified(each) for number, each in cohorts.items()}}


def _identified(cohort: Any) -> Any:
    if not isinstance(cohort, dict):
        return cohort
    told = (cohort.get(name, "") for name in ("name", "zone", "started", "created"))
    known = cohort | {"id": named_id(*told)}
    factors = cohort.get("factors") or {}
    for each in [name for name in factors if name.casefold() == "site"]:
        known["site"] = factors[each].replace(":", ",")
        known["factors"] = {name: level for name, level in factors.items() if name != each}
    return {name: value for name, value in known.items() if name != "factors" or value}


MIGRATIONS: dict[int, Migration] = {1: _marks_in_lists, 2: _with_identity}
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
        except (AttributeError, KeyError, TypeError, ValueError) as error:
            raise StoreError(
                f"{path} cannot be brought from format {step} to {step + 1}: {error!r}"
            ) from error
    return tables
