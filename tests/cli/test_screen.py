"""Tables laid out by ourselves say what `rich` says of them, letter by letter."""

from __future__ import annotations

import io
import os
import re
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as some
from rich.cells import cell_len
from rich.console import Console

from rearlog.cli import present, screen

WORDS = some.text("ab °é–“”×x", max_size=14)
CELLS = some.text("ab 1°–é", max_size=9)
BOLD = re.compile("\x1b\\[[01]m")


@some.composite
def tables(draw: some.DrawFn) -> tuple[str, list[str], list[list[str]], list[bool], list[str]]:
    """Title, columns, rows, which columns stand to the right, and words beneath."""
    count = draw(some.integers(1, 4))

    def row(least: int) -> list[str]:
        each = some.text("ab 1°–é", min_size=least, max_size=9)
        return draw(some.lists(each, min_size=count, max_size=count))

    return (
        draw(WORDS),
        row(1),
        [row(0) for _ in range(draw(some.integers(0, 3)))],
        draw(some.lists(some.booleans(), min_size=count, max_size=count)),
        draw(some.lists(some.lists(WORDS, max_size=6).map(" ".join), max_size=3)),
    )


class _Out(io.StringIO):
    """Standard output that says of itself what a test wants."""

    def __init__(self, *, terminal: bool = False, encoding: str = "utf-8") -> None:
        super().__init__()
        self._terminal, self._encoding = terminal, encoding

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._encoding

    def isatty(self) -> bool:
        return self._terminal


def folded(
    table: tuple[str, list[str], list[list[str]], list[bool], list[str]], out: io.StringIO
) -> str:
    before, sys.stdout = sys.stdout, out
    try:
        present._print_folded(*table)
    finally:
        sys.stdout = before
    return out.getvalue()


@some.composite
def wide_tables(
    draw: some.DrawFn,
) -> tuple[str, list[str], list[list[str]], list[bool], list[str]]:
    """With one column of whole sentences."""
    title, columns, rows, right, words = draw(tables())
    place = draw(some.integers(0, len(columns) - 1))
    for row in rows:
        row[place] = " ".join(draw(some.lists(WORDS, max_size=6)))
    right[place] = draw(some.integers(0, 4)) == 0
    return title, columns, rows, right, words


@example(("", ["1"], [[" aaaaaaaaaaaaaa"]], [False], []), 16, False)  # a blank before a long word
@example(("", ["1"], [], [False], [" aaaaaaaaaaaa"]), 12, False)
@given(some.one_of(tables(), wide_tables()), some.integers(12, 60), some.booleans())
def test_the_same_text_comes_from_rich(
    table: tuple[str, list[str], list[list[str]], list[bool], list[str]], width: int, bold: bool
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(width))
        patch.setenv("TERM", "xterm")
        expected = folded(table, _Out(terminal=bold))
    lines = screen.lines_of(*table, width, bold)
    if lines is None:
        return  # left to rich
    ours = "".join(f"{line}\n" for line in lines)
    assert BOLD.sub("", ours) == BOLD.sub("", expected)
    assert (screen._BOLD in ours) == (screen._BOLD in expected)


def test_what_fits_is_not_left_to_rich() -> None:
    table = ("Due", ["when", "n"], [["today", "1"], ["–", "22"]], [False, True], ["One two three."])
    assert screen.lines_of(*table, 14) == [
        "Due        ",
        "           ",
        " when    n ",
        " ───────── ",
        " today   1 ",
        " –      22 ",
        "           ",
        "One two three.",
        "",
    ]
    assert screen.lines_of(*table, 10) is None
    assert screen.lines_of("Due on Thursday", *table[1:], 40) is None  # its title is folded


def test_the_widest_column_is_broken_where_the_others_fit() -> None:
    rows = [["room", "19 alive: 14 L5, 5 L4; 7 should pupate"], ["warm", "all adult"]]
    lines = screen.lines_of("Due", ["cohort", "in short"], rows, [False, False], [], 32)
    assert lines == [
        f"{'Due':32}",
        " " * 32,
        f" cohort  {'in short':22} ",
        f" {'─' * 30} ",
        f" room    {'19 alive: 14 L5, 5 L4;':22} ",
        f"         {'7 should pupate':22} ",
        f" warm    {'all adult':22} ",
        " " * 32,
    ]
    assert screen.lines_of("Due", ["cohort", "in short"], rows, [False, True], [], 32) is None


@given(
    some.lists(some.sampled_from(["days on average", "went on", "95 % limits", "n"]), min_size=2),
    some.integers(20, 80),
)
def test_headings_are_broken_between_words_alone_where_these_fit(
    columns: list[str], width: int
) -> None:
    """Whatever stands beneath them, which is folded at spaces, and then inside of words, before."""
    rows = [["whole development" if place % 2 else "1.0 to 2.0" for place in range(len(columns))]]
    words = [word for each in columns for word in each.split()]
    wide = sum(max(map(len, each.split())) for each in columns) + len(columns) + 1
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(width))
        told = folded(("", columns, rows, [False] * len(columns), []), _Out())
    lines = told.splitlines()
    assert all(len(line) <= width for line in lines)
    head = lines[: next(n for n, line in enumerate(lines) if "─" in line)]
    shown = [word for line in head for word in line.split()]
    assert (sorted(shown) == sorted(words)) or wide > width
    whole = sum(max(len("development"), *map(len, each.split())) for each in columns)
    cells = [word for line in lines[len(head) :] for word in line.split() if "─" not in word]
    assert set(cells) <= {"whole", "development", "1.0", "to", "2.0"} or (
        whole + len(columns) + 1 > width
    )


def lines_at(width: int) -> list[str]:
    """The lines of a table of three columns on a screen of that width."""
    rows = [["whole development", "1.97", "Welch ANOVA, all"]]
    columns = ["stage", "standard error", "test"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(width))
        told = folded(("", columns, rows, [False, True, False], []), _Out())
    return [line.rstrip() for line in told.splitlines()][1:-1]


def test_a_column_is_no_narrower_than_its_words_while_others_can_give_way() -> None:
    assert lines_at(33) == [
        "              standard",
        " stage           error  test",
        " ───────────────────────────────",
        " whole            1.97  Welch",
        " development            ANOVA,",
        "                        all",
    ]


def test_columns_stand_closer_before_a_word_is_broken() -> None:
    assert lines_at(29) == [
        "             standard",
        " stage          error test",
        " ───────────────────────────",
        " whole           1.97 Welch",
        " development          ANOVA,",
        "                      all",
    ]


def test_letters_of_other_widths_are_left_to_rich() -> None:
    assert screen.lines_of("t", ["name"], [["卵"]], [False], [], 80) is None
    assert screen.lines_of("t", ["name"], [["a\u0301"]], [False], [], 80) is None
    letters = [chr(code) for code in range(0x20, 0x3000) if screen._NARROW.fullmatch(chr(code))]
    assert len(letters) > 500
    assert {cell_len(letter) for letter in letters} == {1}


@pytest.mark.parametrize(("terminal", "term"), [(True, "xterm"), (True, ""), (False, "dumb")])
@pytest.mark.parametrize("columns", [None, "97", "many"])
def test_the_screen_is_as_wide_as_rich_says(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, term: str, columns: str | None
) -> None:
    for name in screen._UNUSUAL:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setenv("TERM", term)
    if columns is not None:
        monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setattr(os, "get_terminal_size", lambda _fd: os.terminal_size((123, 40)))
    out = _Out(terminal=terminal)
    monkeypatch.setattr(sys, "stdout", out)
    rich = Console()
    assert screen.screen() == (rich.width, rich.color_system is not None)


def test_unusual_screens_are_left_to_rich(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in screen._UNUSUAL:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "stdout", _Out(encoding="latin-1"))
    assert screen.screen() is None
    monkeypatch.setattr(sys, "stdout", _Out(terminal=True))
    monkeypatch.setenv("TERM", "Dumb")
    assert screen.screen() is None
    monkeypatch.setenv("TERM", "xterm")
    assert screen.screen() is not None
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert screen.screen() is None
