"""The libraries that tables with types need, and what is said where one is not installed."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from rearlog.records.errors import UsageError

_INSTALL = {
    "pandas": "pip install 'rearlog[frames]'",
    "pyarrow": "pip install 'rearlog[frames]'",
    "duckdb": "pip install 'rearlog[season]'",
    "polars": "pip install polars pyarrow",
}


def library(name: str) -> Any:
    """The library; raises UsageError with the command that installs it where it is not there."""
    try:
        return import_module(name)
    except ModuleNotFoundError as missing:
        whole = name.partition(".")[0]
        if missing.name != whole:
            raise
        raise UsageError(f"this needs {whole}, which is not installed", _INSTALL[whole]) from None
