"""The check sheet on paper: pages to print, measured in millimetres from the upper left corner."""

from __future__ import annotations

import io
import os
from collections.abc import Sequence
from datetime import date
from itertools import groupby
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from rearlog.disk.outputs import write_output
from rearlog.drawings.stages import Picture, picture_of
from rearlog.exchange.canvas import Canvas, width_mm, wrapped
from rearlog.exchange.celsius import Unit
from rearlog.exchange.sheet import NO_CHANGE, Sheet, SheetRow
from rearlog.records.errors import UsageError
from rearlog.records.fates import FATES
from rearlog.records.fields import OF_ADULTS, Field
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.profile import StageProfile

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Paper = Literal["A4", "letter"]
PAPERS: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm."""
TYPED_PAPERS: dict[str, Paper] = {each.lower(): each for each in PAPERS}
"""The papers by their names as they are typed."""

_PNG_DOTS_PER_INCH = 200
_MARGIN = 11.0
_HEAD_HEIGHT, _TITLES_HEIGHT = 19.0, 9.5
_LOWEST_ROW, _HIGHEST_ROW = 5.3, 9.5
_CODE_WIDTH, _STAGE_WIDTH, _LEAST_NOTES_WIDTH = 17.0, 17.0, 24.0
_WIDEST_DAY, _ROOMY_DAY = 19.0, 10.0
_LEGEND_LINE, _ROOMIEST_LEGEND_LINE = 3.5, 14.0
_ROOMY_ROW = 7.0
"""Rows are made no lower than this for the sake of larger hints."""
_WIDEST_NAME = 40.0
_PICTURE_SHARE, _PICTURE_GAP, _PICTURE_STROKE = 2.6, 1.5, 0.12
"""A drawing may be so many times as wide as it is high."""
_LONGEST_LEGEND = 25
_SMALL, _NORMAL, _LARGE = 7.0, 8.5, 15.0
_LARGEST_HINT, _LINE_OF_POINTS = 10.0, 0.45
"""The largest hints, in points, and how many mm a point needs of the height of a line."""
_SHADE = "#f0f0f0"
_DOT = "•"


def pages(sheet: Sheet, paper: Paper = "A4", *, unit: Unit = "C") -> list[Figure]:
    """The sheet as one figure a page; the rows are spread evenly over as few pages as will do.

    `unit` is that of the temperatures, for which there is room on each page.
    """
    legend = _legend(sheet.stages)
    below = (f"lowest °{unit}", f"highest °{unit}", "initials")
    others = len(below) + 1  # the example
    room = PAPERS[paper][1] - 2 * _MARGIN - _HEAD_HEIGHT - _TITLES_HEIGHT
    most = int((room - _height(legend, _LEGEND_LINE)) / _LOWEST_ROW) - others
    count = ceil(len(sheet.rows) / most)
    share = ceil(len(sheet.rows) / count)
    line = _legend_line(legend, room - _ROOMY_ROW * (share + others))
    room -= _height(legend, line)
    figures = []
    for number in range(count):
        rows = sheet.rows[number * share : (number + 1) * share]
        canvas = Canvas(*PAPERS[paper])
        _draw_head(canvas, sheet, f"page {number + 1} of {count}" if count > 1 else "")
        row_height = min(_HIGHEST_ROW, room / (len(rows) + others))
        bottom = _draw_grid(canvas, sheet, rows, below, row_height)
        _draw_legend(canvas, legend, bottom, line)
        figures.append(canvas.figure)
    return figures


def page_paths(path: str | os.PathLike[str], count: int) -> list[Path]:
    """The files that `save` writes: one PDF, or one PNG a page (name-1.png, name-2.png …).

    Raises UsageError for another kind of file.
    """
    whole = Path(path)
    kind = whole.suffix.lower()
    if kind not in (".pdf", ".png"):
        raise UsageError(f"{whole.name} is neither PDF nor PNG", "end its name with .pdf or .png")
    if kind == ".pdf" or count == 1:
        return [whole]
    return [whole.with_stem(f"{whole.stem}-{number}") for number in range(1, count + 1)]


def save(
    figures: Sequence[Figure],
    path: str | os.PathLike[str],
    *,
    title: str = "Check sheet",
    force: bool = True,
) -> list[Path]:
    """Write the pages to the files that `page_paths` names, and return these.

    Raises UsageError where a file is there and `force` is not set.
    """
    paths = page_paths(path, len(figures))
    pages = (
        [as_pdf(figures, title)] if paths[0].suffix.lower() == ".pdf" else list(map(_png, figures))
    )
    for place, content in zip(paths, pages, strict=True):
        write_output(place, content, force=force)
    return paths


def as_pdf(figures: Sequence[Figure], title: str = "Check sheet") -> bytes:
    """The pages as one PDF."""
    from matplotlib.backends.backend_pdf import PdfPages  # start-up time

    whole = io.BytesIO()
    with PdfPages(whole, metadata={"Title": title, "CreationDate": None}) as file:
        for figure in figures:
            file.savefig(figure)
    return whole.getvalue()


def _png(figure: Figure) -> bytes:
    page = io.BytesIO()
    figure.savefig(page, format="png", dpi=_PNG_DOTS_PER_INCH)
    return page.getvalue()


def _draw_head(canvas: Canvas, sheet: Sheet, page: str) -> None:
    """The cohort's name, what it is, and how the sheet is filled in."""
    right = canvas.width - _MARGIN
    first, last = sheet.days[0], sheet.days[-1]
    title = f"Check sheet: {sheet.cohort}"
    canvas.text(_MARGIN, _MARGIN + 3, title, _LARGE, bold=True, width=right - _MARGIN - 60)
    dates = " to ".join(dict.fromkeys(f"{day:%a} {day}" for day in (first, last)))
    canvas.text(right, _MARGIN + 3, dates, _NORMAL, align="right")
    about = " · ".join(each for each in (sheet.species, sheet.place) if each)
    canvas.text(_MARGIN, _MARGIN + 9, about, _NORMAL, width=right - _MARGIN - 50)
    aside = " · ".join(each for each in ("invented data" if sheet.invented else "", page) if each)
    canvas.text(right, _MARGIN + 9, aside, _NORMAL, align="right")
    how = (
        "no change: a dot     not looked at: leave it blank     changed: its new stage     "
        f"ended: {', '.join(FATES)}, and why"
    )
    canvas.text(_MARGIN, _MARGIN + 14.5, how, _SMALL, muted=True, width=right - _MARGIN)
    if any(kind_of(row.last_stage) is StageKind.ADULT for row in sheet.rows):
        told = f"of adults: {'     '.join(map(_explained, OF_ADULTS))}"
        canvas.text(_MARGIN, _MARGIN + 17.6, told, _SMALL, muted=True, width=right - _MARGIN)


def _explained(field: Field) -> str:
    """A detail as it is written into a cell, and what it is: eggs=34 (eggs laid since …)."""
    return f"{field.word}={field.example} ({field.on_paper})"


class _Columns(Struct, frozen=True):
    """Where the columns of the table begin (mm from the left), and the size of the codes."""

    code_size: float
    last_stage: float
    days: tuple[float, ...]
    notes: float
    right: float


def _columns(sheet: Sheet, page_width: float) -> _Columns:
    """The columns: that of the codes as wide as they need, the days as wide as is left."""
    code_size, code_width = _code_column(sheet)
    last_stage = _MARGIN + code_width
    first = last_stage + _STAGE_WIDTH
    right = page_width - _MARGIN
    width = min(_WIDEST_DAY, (right - first - _LEAST_NOTES_WIDTH) / len(sheet.days))
    days = tuple(first + place * width for place in range(len(sheet.days)))
    return _Columns(code_size, last_stage, days, days[-1] + width, right)


def _draw_grid(
    canvas: Canvas,
    sheet: Sheet,
    rows: Sequence[SheetRow],
    labels: Sequence[str],
    row_height: float,
) -> float:
    """The table; returns where it ends."""
    columns = _columns(sheet, canvas.width)
    top = _MARGIN + _HEAD_HEIGHT
    begin = top + _TITLES_HEIGHT
    count = len(rows) + 1  # the example
    edges = [begin + place * row_height for place in range(count + len(labels) + 1)]
    for edge in edges[1:count:2]:
        canvas.shade(_MARGIN, edge, columns.right, row_height, _SHADE)
    _draw_titles(canvas, sheet.days, columns, top)
    for row, edge in zip((sheet.example, *rows), edges, strict=False):
        y = edge + row_height / 2
        is_example = row == sheet.example
        size = _SMALL if is_example else columns.code_size
        canvas.text(_MARGIN + 1, y, row.individual, size, bold=not is_example, muted=is_example)
        canvas.text(columns.last_stage + 1, y, row.last_stage, _NORMAL, muted=is_example)
        _draw_seen(canvas, row, columns, y)
    note = "mouldy" if "dead" in sheet.example.seen else ""
    canvas.text(columns.notes + 1, begin + row_height / 2, note, _NORMAL, muted=True)
    for label, edge in zip(labels, edges[count:], strict=False):
        canvas.text(_MARGIN + 1, edge + row_height / 2, label, _NORMAL)
    for edge in edges:
        canvas.line(_MARGIN, edge, columns.right, edge)
    for x in (_MARGIN, *columns.days, columns.notes, columns.right):
        canvas.line(x, top, x, edges[-1])
    canvas.line(columns.last_stage, top, columns.last_stage, edges[count])
    for edge in (top, begin, edges[1], edges[count], edges[-1]):
        canvas.line(_MARGIN, edge, columns.right, edge, strong=True)
    return edges[-1]


def _draw_seen(canvas: Canvas, row: SheetRow, columns: _Columns, y: float) -> None:
    """What the days have already, each in its cell."""
    width = columns.notes - columns.days[-1]
    for x, told in zip(columns.days, row.seen, strict=False):
        if told:
            words = _DOT if told == NO_CHANGE else told
            centre = x + width / 2
            size = _NORMAL if width_mm(words, _NORMAL) < width - 1 else _SMALL
            canvas.text(centre, y, words, size, align="center", muted=True)


def _draw_titles(canvas: Canvas, days: Sequence[date], columns: _Columns, top: float) -> None:
    middle = top + _TITLES_HEIGHT / 2
    for x, title in (
        (_MARGIN, "individual"),
        (columns.last_stage, "last stage"),
        (columns.notes, "notes"),
    ):
        canvas.text(x + 1, middle, title, _SMALL, muted=True)
    width = columns.notes - columns.days[-1]
    roomy = width > _ROOMY_DAY
    for x, day in zip(columns.days, days, strict=True):
        centre = x + width / 2
        size = _NORMAL if roomy else _SMALL
        canvas.text(centre, top + 2.8, f"{day:%a}", size, align="center", bold=True)
        number = f"{day.day} {day:%b}" if roomy else str(day.day)
        canvas.text(centre, top + 6.7, number, _SMALL, align="center")


def _code_column(sheet: Sheet) -> tuple[float, float]:
    """The size in which all codes are written, never cut, and the width of their column."""
    codes = [row.individual for row in sheet.rows]
    widest = max(codes, key=lambda code: width_mm(code, _NORMAL, bold=True))
    size = _NORMAL if width_mm(widest, _NORMAL, bold=True) < 2 * _CODE_WIDTH else _SMALL
    return size, max(_CODE_WIDTH, width_mm(widest, size, bold=True) + 2.5)


class _LegendLine(Struct, frozen=True):
    """Code, name and signs of a stage, or of several that are alike, and how it looks."""

    code: str
    name: str
    signs: tuple[str, ...]
    drawn: Picture


def _legend(stages: Sequence[StageProfile]) -> list[_LegendLine]:
    """A line for each stage; stages in a row with the same sign share one."""
    lines: list[_LegendLine] = []
    for sign, group in groupby(stages, key=lambda each: each.signs[0].text if each.signs else ""):
        alike = list(group)
        first, last = alike[0], alike[-1]
        if sign and len(alike) > 1:
            begin = first.name.removesuffix(f" {last.name.rpartition(' ')[2]}")
            codes, names = f"{first.code}–{last.code}", f"{begin} to {last.name}"
            lines.append(_LegendLine(codes, names, (sign,), picture_of(first)))
        else:
            lines += [
                _LegendLine(
                    each.code,
                    each.name,
                    tuple(told.text for told in each.signs),
                    picture_of(each),
                )
                for each in alike
            ]
    return lines[:_LONGEST_LEGEND]  # more would leave no room for the rows


def _height(legend: Sequence[_LegendLine], line: float) -> float:
    return 4.0 + len(legend) * line


def _legend_line(legend: Sequence[_LegendLine], room: float) -> float:
    """How high a line of the legend is: more than it needs only where the rows leave room."""
    return min(max((room - 4.0) / max(1, len(legend)), _LEGEND_LINE), _ROOMIEST_LEGEND_LINE)


def _draw_legend(canvas: Canvas, legend: Sequence[_LegendLine], top: float, line: float) -> None:
    """Codes, drawings, names and signs, as large as the lines allow."""
    room = canvas.width - 2 * _MARGIN
    columns = _legend_columns(legend, line, _LARGEST_HINT, room)
    while columns.size > _SMALL and not columns.hold(legend):
        columns = _legend_columns(legend, line, columns.size - 1, room)
    size, height = columns.size, line - 0.5
    for place, each in enumerate(legend):
        y = top + 4.0 + (place + 0.5) * line
        canvas.text(_MARGIN + 1, y, each.code, size, bold=True)
        left = _MARGIN + columns.picture
        _draw_picture(canvas, each.drawn, left, y, _PICTURE_SHARE * height, height)
        canvas.text(_MARGIN + columns.name, y, each.name, size, width=_WIDEST_NAME)
        hints = _hints(each.signs, columns)
        for number, words in enumerate(hints):
            middle = y + (number - (len(hints) - 1) / 2) * _LINE_OF_POINTS * size
            x = _MARGIN + columns.sign
            canvas.text(x, middle, words, size, muted=True, width=columns.sign_width)


class _LegendColumns(Struct, frozen=True):
    """Where the columns of the legend begin (mm from the margin), the size of its words, and how
    many lines of `sign_width` a hint may have."""

    size: float
    picture: float
    name: float
    sign: float
    sign_width: float
    lines: int

    def hold(self, legend: Sequence[_LegendLine]) -> bool:
        """Whether the first sign of each stage has room."""
        first = [each.signs[0] for each in legend if each.signs]
        return all(len(wrapped(each, self.sign_width, self.size)) <= self.lines for each in first)


def _legend_columns(
    legend: Sequence[_LegendLine], line: float, size: float, room: float
) -> _LegendColumns:
    codes = max((width_mm(each.code, size, bold=True) for each in legend), default=0.0)
    names = max((width_mm(each.name, size) for each in legend), default=0.0)
    picture = 1 + codes + 2 * _PICTURE_GAP
    name = picture + _PICTURE_SHARE * (line - 0.5) + _PICTURE_GAP
    sign = name + min(names, _WIDEST_NAME) + 2 * _PICTURE_GAP
    lines = max(1, int(line / (_LINE_OF_POINTS * size)))
    return _LegendColumns(size, picture, name, sign, room - sign, lines)


def _hints(signs: Sequence[str], columns: _LegendColumns) -> list[str]:
    """The lines of the first sign, and of those behind it for which there is room too."""
    if not signs:
        return []
    text, *others = signs
    told = wrapped(text, columns.sign_width, columns.size)
    if len(told) > columns.lines:  # the last line is cut where it ends
        return [*told[: columns.lines - 1], " ".join(told[columns.lines - 1 :])]
    for sign in others:
        longer = wrapped(f"{text} {sign}", columns.sign_width, columns.size)
        if len(longer) <= columns.lines:
            text, told = f"{text} {sign}", longer
    return told


def _draw_picture(
    canvas: Canvas, drawn: Picture, left: float, y: float, width: float, height: float
) -> None:
    """A drawing as large as its place in the legend allows: not to scale."""
    scale = min(width / drawn.width_mm, height / drawn.height_mm)
    x = left + (width - scale * drawn.width_mm) / 2
    top = y - scale * drawn.height_mm / 2
    canvas.draw(drawn.shapes, x, top, _PICTURE_STROKE, scale=scale)
