"""A table for a paper as text: Markdown, LaTeX, HTML, CSV, and for the screen.

What stands in a table was typed by people: each form writes it so that it is read as it is.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Sequence

from msgspec import Struct

from rearlog.present.csv import to_csv
from rearlog.present.journal import JournalTable, head, shown
from rearlog.present.latex import escaped, needs_unicode
from rearlog.present.tables import Table

MARKS = ("*", "†", "‡", "§", "‖", "¶")
"""Marks of footnotes in the order of journals; then each twice, and so on."""


class _Cell(Struct, frozen=True):
    """The text of a cell, and what is raised behind it: letters of differences, marks of notes."""

    text: str
    raised: str = ""


class _LaidOut(Struct, frozen=True):
    """A table in cells: a line of heads, the others under it, and the notes with their marks."""

    what: str
    species: tuple[str, ...]
    heads: list[str]
    rows: list[list[_Cell]]
    notes: list[tuple[str, str]]


def _laid_out(table: JournalTable) -> _LaidOut:
    marks: dict[str, str] = {}

    def raised(notes: Sequence[str], letters: str = "") -> str:
        found = [marks.setdefault(note, _mark(len(marks))) for note in notes]
        return ",".join(filter(None, (letters, *found)))

    rows = [
        [
            _Cell(row.name, raised(row.notes)),
            *(_Cell(shown(each), raised(each.notes, each.letters)) for each in row.cells),
        ]
        for row in table.rows
    ]
    notes = [("", note) for note in table.notes] + [(mark, note) for note, mark in marks.items()]
    return _LaidOut(
        table.what, table.species, [table.of_rows, *map(head, table.heads)], rows, notes
    )


def _mark(place: int) -> str:
    more, which = divmod(place, len(MARKS))
    return MARKS[which] * (more + 1)


def to_screen(table: JournalTable) -> Table:
    """The table for the terminal."""
    laid = _laid_out(table)
    return Table(
        f"{laid.what} ({', '.join(laid.species)})",
        laid.heads,
        [[f"{cell.text} {cell.raised}".rstrip() for cell in row] for row in laid.rows],
        [f"{mark} {note}".lstrip() for mark, note in laid.notes],
    )


def to_tidy_csv(table: JournalTable) -> str:
    """A line a cell, each of its numbers in a column of its own, not rounded."""
    of_cohorts = any(each.celsius is not None for each in table.heads)
    lines = [
        [
            *(row.name, column.name, *([column.celsius] if of_cohorts else [])),
            *(cell.value, cell.se, cell.low, cell.high, cell.n, cell.letters),
            " ".join((*row.notes, *cell.notes)),
        ]
        for row in table.rows
        for column, cell in zip(table.heads, row.cells, strict=True)
    ]
    columns = [
        *(table.of_rows, table.of_columns, *(["celsius"] if of_cohorts else [])),
        *("estimate", "se", "low", "high", "n", "letters", "note"),
    ]
    return to_csv(Table("", columns, lines))


_IN_MARKDOWN = re.compile(r"([\\`*_\[\]<>#|~&$^!])")


def _markdown(text: str) -> str:
    """Text in which nothing is taken for a sign of Markdown."""
    return _IN_MARKDOWN.sub(r"\\\1", _one_line(text))


def _one_line(text: str) -> str:
    return " ".join("".join(each if each.isprintable() else " " for each in text).split())


def to_markdown(table: JournalTable) -> str:
    """A pipe table with its caption above and its notes below, a paragraph each."""
    laid = _laid_out(table)
    species = ", ".join(f"*{_markdown(each)}*" for each in laid.species)
    lines = [[_markdown(each) for each in laid.heads], ["---"] * len(laid.heads)]
    for name, *cells in laid.rows:
        # a bracket of limits is no link: no name or address follows it
        numbers = [f"{cell.text} {_markdown(cell.raised)}".rstrip() for cell in cells]
        lines.append([f"{_markdown(name.text)} {_markdown(name.raised)}".rstrip(), *numbers])
    parts = [
        f"{_markdown(laid.what)} ({species})",
        "\n".join(f"| {' | '.join(line)} |" for line in lines),
        *(_markdown(f"{mark} {note}") for mark, note in laid.notes),
    ]
    return "\n\n".join(parts) + "\n"


def to_latex(table: JournalTable) -> str:
    """A `table` with the rules of the package booktabs, its caption above and its notes below."""
    laid = _laid_out(table)
    species = ", ".join(rf"\emph{{{escaped(each)}}}" for each in laid.species)
    heads = [escaped(each) for each in laid.heads]
    rows = [
        [f"{escaped(cell.text)}{_superscript(cell.raised)}" for cell in row] for row in laid.rows
    ]
    notes = [f"{_superscript(mark)}{escaped(note)}" for mark, note in laid.notes]
    body = [
        r"\begin{table}",
        r"\centering",
        rf"\caption{{{escaped(laid.what)} ({species})}}",
        rf"\begin{{tabular}}{{l{'l' * (len(heads) - 1)}}}",
        r"\toprule",
        rf"{' & '.join(heads)} \\",
        r"\midrule",
        *(rf"{' & '.join(row)} \\" for row in rows),
        r"\bottomrule",
        r"\end{tabular}",
        "",
        r"\medskip",
        r"\begin{minipage}{\linewidth}\footnotesize",
        "\n\n".join(notes),
        r"\end{minipage}",
        r"\end{table}",
    ]
    needs = [r"% In the preamble: \usepackage{booktabs,textcomp} \usepackage[T1]{fontenc}"]
    if needs_unicode("\n".join(body)):
        needs.append("% Some letters need XeLaTeX or LuaLaTeX, and a font that has them.")
    return "\n".join([*needs, *body, ""])


def _superscript(text: str) -> str:
    return rf"\textsuperscript{{{escaped(text)}}}" if text else ""


def to_html(table: JournalTable) -> str:
    """A `table` element without styles, scripts or ids, to be put into a page."""
    laid = _laid_out(table)
    species = ", ".join(f"<i>{_html(each)}</i>" for each in laid.species)
    heads = "".join(f'<th scope="col">{_html(each)}</th>' for each in laid.heads)
    lines = []
    for name, *cells in laid.rows:
        row = "".join(f"<td>{_html(cell.text)}{_sup(cell.raised)}</td>" for cell in cells)
        lines.append(f'<tr><th scope="row">{_html(name.text)}{_sup(name.raised)}</th>{row}</tr>')
    notes = "".join(f"<p>{_sup(mark)}{_html(note)}</p>" for mark, note in laid.notes)
    return "\n".join(
        [
            "<table>",
            f"<caption>{_html(laid.what)} ({species})</caption>",
            f"<thead><tr>{heads}</tr></thead>",
            "<tbody>",
            *lines,
            "</tbody>",
            f'<tfoot><tr><td colspan="{len(laid.heads)}">{notes}</td></tr></tfoot>',
            "</table>",
            "",
        ]
    )


def _sup(text: str) -> str:
    return f"<sup>{_html(text)}</sup>" if text else ""


def _html(text: str) -> str:
    return html.escape(_one_line(text))


WRITERS: dict[str, Callable[[JournalTable], str]] = {
    "markdown": to_markdown,
    "latex": to_latex,
    "html": to_html,
    "csv": to_tidy_csv,
}
"""The forms of a table that is kept, by their names."""
