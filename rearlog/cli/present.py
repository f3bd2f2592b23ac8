"""One result, three faces: a table for people, JSON for programs, CSV for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any

from rearlog.cli.main import printable
from rearlog.cli.streams import write_data
from rearlog.present.tables import Table


def show(
    result: Any, form: str, tables: Callable[[], Sequence[Table]], rows: Table | Sequence[Any]
) -> None:
    """Write a result to standard output in the form that the user chose.

    `tables` makes the tables for people; `rows` are what the CSV lists: flat rows, or
    dataclasses of one kind.
    """
    if form == "json":
        write_data(f"{to_json(result)}\n")
    elif form == "csv":
        write_data(to_csv(rows))
    else:
        for table in tables():
            _print(table)


def to_json(result: Any) -> str:
    """A result dataclass as one JSON object, its fields as keys, None as null."""
    import orjson

    return orjson.dumps(plain(result), option=orjson.OPT_INDENT_2).decode()


def plain(value: Any) -> Any:
    """A result as dictionaries, lists and values. Unknown is None; a NaN is a mistake of ours."""
    if is_dataclass(value):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, float) and value != value:
        raise ValueError("a result holds NaN where None is meant")
    if isinstance(value, str) and not value.isascii():
        return value.encode(errors="replace").decode()  # names of files may hold broken letters
    return value


def to_csv(rows: Table | Sequence[Any]) -> str:
    """Flat rows, or dataclasses of one kind (see `flat`), as RFC 4180 CSV.

    Text that a spreadsheet would run as a formula is neutralised.
    """
    from rearlog.exchange.formula_text import disarmed
    from rearlog.present.flat import flat

    if not isinstance(rows, Table):
        rows = flat(type(rows[0]), rows) if rows else Table("", [], [])
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(rows.columns)
    for row in rows.rows:
        cells = map(plain, row)
        writer.writerow(disarmed(cell) if isinstance(cell, str) else cell for cell in cells)
    return out.getvalue()


def _print(table: Table) -> None:
    from rich import box  # start-up time: only when a table is shown
    from rich.console import Console
    from rich.table import Table as RichTable
    from rich.text import Text

    class Screen(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError  # to be treated like any other

    console = Screen(highlight=False, soft_wrap=False)
    drawn = RichTable(
        title=Text(printable(table.title)),
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 1, 0, 0),
    )
    for place, name in enumerate(table.columns):
        numeric = any(isinstance(row[place], int | float) for row in table.rows)
        drawn.add_column(Text(name), justify="right" if numeric else "left", overflow="fold")
    for row in table.rows:
        drawn.add_row(*(Text(cell_text(cell)) for cell in row))
    console.print(drawn)
    for line in table.words:
        console.print(Text(printable(line)))
    if table.words:
        console.print()


def cell_text(value: Any) -> str:
    """A value as people read it: two decimals at most, a dash for unknown."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, float):
        return f"{value:.2f}"
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    return printable(value)
