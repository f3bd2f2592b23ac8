"""How a data set tells what it is: a description beside its tables, with the version of their
columns."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from rearlog.gathering.data_set_tables import PARTITIONS, TABLES, VERSION
from rearlog.records.errors import UsageError

DESCRIPTOR = "rearlog-data-set.json"
_FORMAT = "rearlog/data-set"


def is_data_set(folder: Path) -> bool:
    """Whether a folder is such a data set."""
    return (folder / DESCRIPTOR).is_file()


def descriptor() -> dict[str, Any]:
    """What the tables and their columns hold."""
    return {
        "format": _FORMAT,
        "version": VERSION,
        "partitions": list(PARTITIONS),
        "tables": [
            {
                "name": table.name,
                "meaning": table.meaning,
                "columns": [
                    {
                        "name": each.name,
                        "type": each.kind.value,
                        "unit": each.unit,
                        "meaning": each.meaning,
                    }
                    for each in table.columns
                ],
            }
            for table in TABLES.values()
        ],
    }


def refuse_other_versions(folder: Path) -> None:
    """Raise UsageError where a data set is of another version than is written here."""
    try:
        found = msgspec.json.decode((folder / DESCRIPTOR).read_bytes())
        version = found["version"] if found["format"] == _FORMAT else None
    except (OSError, msgspec.MsgspecError, KeyError, TypeError) as error:
        raise UsageError(f"{folder / DESCRIPTOR} cannot be read: {error}") from error
    if version != VERSION:
        remedy = "export the cohorts into a new folder"
        raise UsageError(f"{folder} is a data set of version {version}, not {VERSION}", remedy)
