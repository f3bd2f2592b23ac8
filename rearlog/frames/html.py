"""Tables with types as HTML, for a notebook in a browser."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape
from typing import Any

from rearlog.frames.typed import TypedTable

MOST_ROWS = 20
"""Of a longer table the first half of so many rows is shown, and the last half."""


def as_html(table: TypedTable, caption: str = "") -> str:
    """A table for reading: numbers to four digits or whole, what is not known left blank, a long
    table shortened in the middle. All text is escaped."""
    places: list[int | None] = list(range(len(table)))
    if len(table) > MOST_ROWS:
        half = MOST_ROWS // 2
        places = [*places[:half], None, *places[-half:]]
    head = "".join(f"<th>{escape(each.name)}</th>" for each in table.columns)
    body = "".join(f"<tr>{_row(table, place)}</tr>" for place in places)
    said = f"<caption>{escape(caption)}</caption>" if caption else ""
    more = f"<p>{len(table)} rows</p>" if len(table) > MOST_ROWS else ""
    return f"<table>{said}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{more}"


def _row(table: TypedTable, place: int | None) -> str:
    cells = ("…" if place is None else cell(values[place]) for values in table.values)
    return "".join(f"<td>{escape(each)}</td>" for each in cells)


def cell(value: Any) -> str:
    """A value as the text of a cell; moments are told in UTC."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"
    if isinstance(value, datetime):
        return f"{value.astimezone(UTC):%Y-%m-%d %H:%M}"
    return str(value)
