"""Tables on a screen that is wide enough for them, or for all but their widest column, laid out
without loading `rich`.

What has to be folded in more places, has letters whose width must be looked up, or goes to an
unusual screen is left to `rich`; the same text comes out of both (`tests/cli/test_screen.py`).
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from itertools import zip_longest

_NARROW = re.compile("[\x20-\x7e\xa1-\xac\xae-\u02ff–—‘’“”„…−≤≥→]*")
"""Letters that are one column wide on every screen."""
_WORD = re.compile(r"\s*\S+\s*")
_UNUSUAL = ("FORCE_COLOR", "TTY_COMPATIBLE", "JUPYTER_COLUMNS", "JUPYTER_LINES")
_DUMB = ("dumb", "unknown")
_USUAL_WIDTH = 80
_BOLD, _PLAIN = "\x1b[1m", "\x1b[0m"


def screen() -> tuple[int, bool] | None:
    """The columns of standard output, and whether it shows bold letters; None: ask `rich`."""
    out = sys.stdout
    if (
        out is None
        or os.name == "nt"
        or not (out.encoding or "").lower().startswith("utf")
        or any(name in os.environ for name in _UNUSUAL)
    ):
        return None
    bold = out.isatty()
    if bold and os.environ.get("TERM", "").lower() in _DUMB:
        return None
    told = os.environ.get("COLUMNS", "")
    return (int(told) if told.isdigit() else _of_terminal()) or _USUAL_WIDTH, bold


def _of_terminal() -> int:
    """The columns of the first standard stream that is a terminal; 0 without one."""
    for descriptor in range(3):
        try:
            return os.get_terminal_size(descriptor).columns
        except OSError:
            continue
    return 0


def lines_of(
    title: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    right: Sequence[bool],
    words: Sequence[str],
    width: int,
    bold: bool = False,
) -> list[str] | None:
    """A table line by line, None where it does not fit; `right`: numbers stand to the right."""
    texts = [title, *columns, *(each for row in rows for each in row), *words]
    if not all(map(_NARROW.fullmatch, texts)):
        return None
    longest = _longest_piece(words)
    if not columns and not title and longest <= width:
        return [*(part for text in words for part in _wrapped(text, width)), ""]
    wide = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
    if not wide or min(wide) == 0 or longest > width:
        return None
    broken = [[[each] for each in row] for row in rows]
    whole = sum(wide) + 2 * len(wide)
    if whole > width:
        narrow, gap = narrowed(columns, rows, width) or (wide, 0)
        folded = [place for place, size in enumerate(wide) if narrow[place] < size]
        if gap != 2 or len(folded) != 1 or right[folded[0]]:
            return None
        (place,), whole, wide = folded, width, narrow
        if max(len(columns[place]), _longest_piece(row[place] for row in rows)) > wide[place]:
            return None
        for parts, row in zip(broken, rows, strict=True):
            parts[place] = _wrapped(row[place], wide[place])
    if len(title) > whole:
        return None

    def line(cells: Sequence[str]) -> str:
        placed = (
            each.rstrip().rjust(size) if to_right else each.ljust(size)
            for each, size, to_right in zip(cells, wide, right, strict=True)
        )
        return "  ".join(placed)

    head = f"{_BOLD}{line(columns)}{_PLAIN}" if bold else line(columns)
    blank = " " * whole
    return [
        *([title.ljust(whole)] if title else []),
        blank,
        f" {head} ",
        f" {'─' * (whole - 2)} ",
        *(f" {line(row)} " for parts in broken for row in zip_longest(*parts, fillvalue="")),
        blank,
        *(part for text in words for part in _wrapped(text, width)),
        *([""] if words else []),
    ]


def narrowed(
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    width: int,
    length: Callable[[str], int] = len,
) -> tuple[list[int], int] | None:
    """How wide the columns of a table of that width are, and how many blanks lie between two; None
    where it has not even room for a letter of each.

    The widest give way first, and none but to its longest word: what stands in a table is folded
    between words. Where there is no room for that, the columns stand closer; then words beneath the
    headings are broken, and last of all headings.
    """
    every = [*zip(columns, *rows, strict=True)]
    wide = [max(1, *map(length, column)) for column in every]
    count = len(wide)
    words = [_longest_word(column, length) for column in every]
    headings = [_longest_word([each], length) for each in columns]
    for gap, least in ((2, words), (1, words), (1, headings), (1, [1] * count)):
        room = width - gap * (count - 1) - 2
        if sum(least) <= room:
            return _levelled(wide, least, room, gap - 1), gap
    return None


def _levelled(wide: Sequence[int], least: Sequence[int], room: int, blanks: int) -> list[int]:
    """Columns cut to one level, but for those that are narrower or must not be so narrow; the
    `blanks` at the end of all but the last count as part of them."""
    if sum(wide) <= room:
        return [*wide]
    ends = [blanks] * (len(wide) - 1) + [0]

    def cut(level: int) -> list[int]:
        each = zip(wide, least, ends, strict=True)
        return [min(size, max(low, level - end)) for size, low, end in each]

    level = next(level for level in range(room + 1, 0, -1) if sum(cut(level)) <= room)
    found = cut(level)
    for place, more in enumerate(cut(level + 1)):
        if sum(found) < room:
            found[place] = more
    return found


def _longest_word(texts: Sequence[str], length: Callable[[str], int]) -> int:
    return max((length(word) for text in texts for word in text.split()), default=1)


def _longest_piece(texts: Iterable[str]) -> int:
    """The longest of what cannot be broken: a word, with the blanks before the first."""
    return max((len(each.rstrip()) for text in texts for each in _WORD.findall(text)), default=0)


def _wrapped(text: str, width: int) -> list[str]:
    """A text of words that are no longer than the width, broken between them."""
    lines = [""]
    for word in _WORD.findall(text) or [text]:
        if lines[-1] and len(lines[-1]) + len(word.rstrip()) > width:
            lines.append("")
        lines[-1] += word
    return [line[:width] for line in lines]
