"""A value as people read it in a table, on the terminal and on the page."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from rearlog.records.wording import stamp

UNKNOWN = "–"


def cell(value: Any) -> str:
    """The text of a cell: two decimals, a dash for unknown, yes or no."""
    if value is None:
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.2f}"
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value)
