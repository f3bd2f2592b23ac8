"""Hostile texts of doubled and doubled length: lines, cells, titles and files take no longer than
their length says."""

import contextlib
from collections.abc import Callable
from pathlib import Path

import pytest

from rearlog.exchange import (
    celsius,
    check_files,
    clock_times,
    formula_text,
    tables,
    temperature_files,
    written_dates,
)
from rearlog.exchange.logger_columns import Titles
from rearlog.records.asked_words import Words
from rearlog.records.entries import parse, pass_over, resolve
from rearlog.records.errors import RearlogError
from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.records.temperature_rules import contradictions
from rearlog.records.times import read_clock, read_date, read_moment
from rearlog.species.loader import load
from tests.builders import START, moment, small_profile, tiny_log
from tests.linear_time import assert_linear

LAST = {str(number): "egg" for number in range(1, 51)}


def told(do: Callable[[], object]) -> None:
    """Whatever may be wrong with the input: it must be told in the family of our errors."""
    with contextlib.suppress(RearlogError):
        do()


def enter(line: str) -> None:
    """Read a line as `log` does."""

    def entered() -> None:
        entries, _ = pass_over(parse(line), ["3"])
        resolve(entries, small_profile(), LAST, list(LAST), START, None)

    told(entered)


LINES: dict[str, Callable[[int], str]] = {
    "causes that are not closed": lambda n: "1 dead" + "(a" * n,
    "details that are not closed": lambda n: "1 L1 " + "a(" * n,
    "brackets in a cause": lambda n: "1 dead(" + "(" * n + ")",
    "quotation marks": lambda n: "1 L1 " + '"' * n,
    "blanks before": lambda n: " " * n + "x",
    "blanks behind": lambda n: "1" + " " * n,
    "a list without an end": lambda n: "1 , " * n,
    "a range of ranges": lambda n: "1-" * n,
    "a thousand ranges in a list": lambda n: ",".join(["1-99999"] * (n // 8)) + " L1",
    "a thousand ranges in parts": lambda n: "1-99999 L1;" * (n // 11),
    "ranges that run backwards": lambda n: "9-1 L1;" * (n // 7),
    "nobody": lambda n: "z L1;" * (n // 5),
    "one individual again and again": lambda n: "1 L1;" * (n // 5),
    "parts without a state": lambda n: "x;" * (n // 2),
    "digits": lambda n: "1 L1 len=" + "9" * n + "x",
    "one detail again and again": lambda n: "1 L1 " + "len=1 " * (n // 6),
}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_a_line_of_the_notation(line: Callable[[int], str]) -> None:
    assert_linear(lambda n: enter(line(n)), 10_000)


WORDS = Words(small_profile(), list(LAST))
TEXTS: dict[str, Callable[[int], object]] = {
    "a date before blanks": lambda n: written_dates.is_date("9 March" + " " * n + "x"),
    "blanks before a date": lambda n: written_dates.is_date("x" + " " * n + "mo"),
    "a date and time": lambda n: clock_times.split_moment("9" + " ,T" * n),
    "a time of day": lambda n: clock_times.read_clock("8:40" + " " * n + "x"),
    "an offset in a title": lambda n: clock_times.offset_in("GMT" + " " * n + "x"),
    "offsets in a title": lambda n: clock_times.offset_in("GMT " * n),
    "a unit in a title": lambda n: celsius.unit_in("deg" * n),
    "degree signs in a title": lambda n: Titles().find_header([["°" + " " * n, "c"], ["8:40"]]),
    "a number": lambda n: celsius.is_number("9" * n + "x"),
    "a number of a table": lambda n: tables.value_of(
        tables.TableColumn("x", "number", ""), "9" * n
    ),
    "no number of a table": lambda n: told_value("9" * n + "x"),
    "what is to be disarmed": lambda n: formula_text.disarmed(",''" * n + "x"),
    "what was disarmed": lambda n: formula_text.restored("'" * n + "x"),
    "a moment": lambda n: told(lambda: read_moment("2026-03-09" + " " * n, "UTC", "09:00", START)),
    "an option's offset": lambda n: told(
        lambda: read_moment("2026-03-09T08:40" + "+" * n, "UTC", "09:00", START)
    ),
    "a day": lambda n: told(lambda: read_date("9" * n, START.date())),
    "an option's clock": lambda n: told(lambda: read_clock(" " * n + "x")),
    "ranges in an asked round": lambda n: WORDS.who("1-99999," * (n // 8) + "1"),
    "a code in an asked round": lambda n: WORDS.who("9" * n),
}


def told_value(cell: str) -> None:
    with contextlib.suppress(ValueError):
        tables.value_of(tables.TableColumn("x", "number", ""), cell)


@pytest.mark.parametrize("read", TEXTS.values(), ids=TEXTS)
def test_a_text(read: Callable[[int], object]) -> None:
    def tried(size: int) -> None:
        with contextlib.suppress(ValueError):
            read(size)

    assert_linear(tried, 10_000)


OBSERVATIONS = "individual,at,stage\n"
SHEET = "individual,last stage,2026-03-11 Wed\n"
FILES: dict[str, Callable[[int], str]] = {
    "blank rows": lambda n: "\n" * n,
    "blank rows below the titles": lambda n: OBSERVATIONS + "\n" * n,
    "rows of nobody": lambda n: OBSERVATIONS + "X,2026-03-11,L1\n" * (n // 16),
    "rows of numbers": lambda n: (
        OBSERVATIONS + "".join(f"{number},2026-03-11,L1\n" for number in range(n // 20))
    ),
    "dates of blanks": lambda n: OBSERVATIONS + f"1,{' ' * (n // 10)}x,L1\n" * 10,
    "titles without an end": lambda n: "individual,at," + ",".join(map(str, range(n // 6))) + "\n",
    "one title again and again": lambda n: "individual,at," + "stage," * (n // 6) + "\n",
    "a quotation mark": lambda n: OBSERVATIONS + '1,"' + "x\n" * (n // 2),
    "quotation marks": lambda n: OBSERVATIONS + '"' * n,
    "separators": lambda n: OBSERVATIONS + "," * n,
    "the same check again": lambda n: OBSERVATIONS + "1,2026-03-11T08:40,L1\n" * (n // 22),
    "a sheet of nobody": lambda n: SHEET + "X,,L1\n" * (n // 6),
    "a sheet of one": lambda n: SHEET + "1,,L1\n" * (n // 6),
    "a sheet without dates": lambda n: SHEET + "1,,L1,L1,L1\n" * (n // 12),
}


@pytest.fixture(scope="module")
def many() -> CohortLog:
    return tiny_log({str(number): "egg" for number in range(1, 2001)})


@pytest.mark.parametrize("content", FILES.values(), ids=FILES)
def test_a_file_of_checks(tmp_path: Path, many: CohortLog, content: Callable[[int], str]) -> None:
    def read(size: int) -> None:
        path = tmp_path / f"{size}.csv"
        if not path.exists():
            path.write_text(content(size), encoding="utf-8")
        told(lambda: check_files.read(path, many, moment(30)))

    assert_linear(read, 25_000)


LOGGER = "Time;Temp (°C)\n"
TEMPERATURES: dict[str, Callable[[int], str]] = {
    "dates and clocks side by side": lambda n: (
        ("2026-03-09;" * 100 + "08:40;" * 100 + "\n") * (n // 1_700)
    ),
    "readings that are none": lambda n: LOGGER + "2026-03-09 08:40;21\n" + "x;y\n" * (n // 4),
    "one moment again and again": lambda n: (
        LOGGER + "".join(f"2026-03-09 08:40;2{number % 7}\n" for number in range(n // 20))
    ),
    "days of blanks": lambda n: "date,min_c,max_c\n" + f"{' ' * (n // 10)}x,1,2\n" * 10,
    "days that are none": lambda n: "date,min_c,max_c\n" + "x,1,2\n" * (n // 6),
}


@pytest.mark.parametrize("content", TEMPERATURES.values(), ids=TEMPERATURES)
def test_a_file_of_temperatures(
    tmp_path: Path, many: CohortLog, content: Callable[[int], str]
) -> None:
    def read(size: int) -> None:
        path = tmp_path / f"{size}.csv"
        if not path.exists():
            path.write_text(content(size), encoding="utf-8")
        told(lambda: temperature_files.read(path, many, moment(30)))

    assert_linear(read, 25_000)


PROFILES: dict[str, Callable[[int], str]] = {
    "a key without an end": lambda n: "a." * (n // 2) + "a = 1",
    "a quoted key without an end": lambda n: '"a" . ' * (n // 6) + "a = 1",
    "tables in tables": lambda n: "[" + "a." * (n // 2) + "a]",
    "lists in lists": lambda n: "a = " + "[" * n,
    "many tables": lambda n: "\n".join(f"[a{number}]" for number in range(n // 8)),
    "one long word": lambda n: "a" * n,
    "one long text": lambda n: 'name = "' + "a. " * (n // 3) + '"',
}


@pytest.mark.parametrize("content", PROFILES.values(), ids=PROFILES)
def test_a_profile(tmp_path: Path, content: Callable[[int], str]) -> None:
    def read(size: int) -> None:
        path = tmp_path / "profile.toml"
        path.write_text(content(size), encoding="utf-8")
        told(lambda: load(path))

    assert_linear(read, 4_000)


@pytest.mark.parametrize("different", [False, True], ids=["alike", "different"])
def test_constant_temperatures_that_overlap(different: bool) -> None:
    def look(size: int) -> None:
        contradictions(
            ConstantTemperature(20 + (number if different else 0) / 1e6, START.date(), None)
            for number in range(size)
        )

    assert_linear(look, 2_500)
