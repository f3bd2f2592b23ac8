"""One result, three faces: a table for people, JSON for programs, CSV for spreadsheets."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from numbers import Number
from typing import Any, TypeVar

import click

from rearlog.cli.options import notice_contradictions
from rearlog.cli.screen import lines_of, narrowed, screen
from rearlog.cli.streams import printable, write_data
from rearlog.present.cells import cell
from rearlog.present.csv import to_csv
from rearlog.present.json import to_json
from rearlog.present.tables import Table
from rearlog.records.errors import UsageError

R = TypeVar("R")


def show(
    result: R,
    form: str,
    tables: Callable[[R], Iterable[Table]],
    rows: Callable[[R], Table] | str,
    lead: Callable[[R], str] | None = None,
) -> None:
    """Write a result to standard output in the form that the user chose.

    Of the result `tables` makes the tables for people, of which those that are `full` wait for
    `--full`, `rows` what the CSV lists (or it is the key of a list in the result), and `lead` the
    sentence that an answer opens with. With `--table` it is that table of the result instead.
    """
    ctx = click.get_current_context()
    if "rearlog.told" in ctx.meta:
        ctx.meta["rearlog.answer"] = result  # of a command that writes: it is told at its end
        return
    _write(result, form, tables, rows, lead)
    notice_contradictions(getattr(result, "contradicted", {}))


def _write(
    result: R,
    form: str,
    tables: Callable[[R], Iterable[Table]],
    rows: Callable[[R], Table] | str,
    lead: Callable[[R], str] | None,
) -> None:
    ctx = click.get_current_context()
    if (name := ctx.meta.get("rearlog.table")) is not None:
        _show_one(result, form, name)
    elif form == "json":
        write_data(f"{to_json(result)}\n")
    elif form == "csv":
        write_data(to_csv(_rows_of(result, rows) if isinstance(rows, str) else rows(result)))
    else:
        if lead is not None:
            print_table(Table("", [], [], [lead(result)]))
        full = ctx.meta.get("rearlog.full", False)
        for table in tables(result):
            if full or not table.full:
                print_table(table)


def _rows_of(result: Any, key: str) -> Table:
    from rearlog.present.flat import rows_of  # start-up time: only for CSV

    return rows_of(result, key)


def _show_one(result: Any, form: str, name: str) -> None:
    """Write one table of a result; raises UsageError, with the names of all, for an unknown one."""
    from rearlog.analysis.answer_tables import tables_of  # start-up time: seldom asked for

    every = tables_of(result)
    if name not in every:
        raise UsageError(f"there is no table “{name[:40]}”", f"there are {', '.join(every)}")
    if form == "json":
        raise UsageError("the JSON has all tables", "leave out --table, or ask for --format csv")
    found = every[name]
    table = Table(name, [each.name for each in found.columns], [*zip(*found.values, strict=True)])
    if form == "csv":
        write_data(to_csv(table))
    else:
        print_table(table)


def print_table(table: Table) -> None:
    """Write a table to the screen, in lines that fit it."""
    rows = [[printable(cell(value)) for value in row] for row in table.rows]
    right = [
        any(isinstance(row[place], Number) for row in table.rows)
        for place in range(len(table.columns))
    ]
    title, words = printable(table.title), [printable(each) for each in table.words]
    known = screen()
    lines = known and lines_of(title, table.columns, rows, right, words, *known)
    if lines:
        sys.stdout.write("".join(f"{line}\n" for line in lines))
    else:
        _print_folded(title, table.columns, rows, right, words)


def _print_folded(
    title: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    right: Sequence[bool],
    words: Sequence[str],
) -> None:
    from rich import box  # start-up time: only for a table that is too wide
    from rich.cells import cell_len
    from rich.console import Console
    from rich.table import Table as RichTable
    from rich.text import Text

    class Screen(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError  # to be treated like any other

    console = Screen(highlight=False, soft_wrap=False)
    wide, gap = narrowed(columns, rows, console.width, cell_len) or ([], 2)
    drawn = RichTable(
        title=Text(title),
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, gap - 1, 0, 0),
    )
    for place, (name, to_right) in enumerate(zip(columns, right, strict=True)):
        drawn.add_column(
            Text(name),
            justify="right" if to_right else "left",
            overflow="fold",
            width=wide[place] if wide else None,  # without room `rich` does what can be done
        )
    for row in rows:
        drawn.add_row(*map(Text, row))
    if title or columns:
        console.print(drawn)
    for line in words:
        console.print(Text(line))
    if words:
        console.print()
