"""Dates as spreadsheets and loggers write them. 09/03/2026 alone can be March or September: which
one it is, is read off the whole column, or told by the user, and never guessed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Literal

from rearlog.records.clock import YEARS
from rearlog.records.command_text import CommandText
from rearlog.records.errors import ImportRefused, Problem

DateOrder = Literal["day-first", "month-first"]
DATE_ORDERS: tuple[DateOrder, ...] = ("day-first", "month-first")

LONGEST_DATE = 40
"""A text of more characters is no date; it would only take time to find out."""

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAY = r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?"
_BESIDE = re.compile(rf"^{_WEEKDAY}\s+|\s+{_WEEKDAY}$", re.I)
_NUMERIC = re.compile(r"(\d{1,4})([-/.])(\d{1,2})\2(\d{4}|\d{1,2})")
_NAMED = re.compile(r"(\d{1,2})[-/. ]+([a-z]{3,9})[-/., ]+(\d{4}|\d{2})", re.I)

_Numbers = tuple[int, int, int]


def read_dates(texts: Iterable[str], order: DateOrder | None, name: str) -> dict[str, date]:
    """The dates that the texts of one column write; a text that is no date is left out.

    Year first is always month, then day. Otherwise the year is last (two digits are 20..); whether
    the day or the month is first must be clear from the column as a whole, unless `order` tells. A
    weekday may stand beside. Raises ImportRefused, with the file's `name`, where it is not clear.
    """
    found: dict[str, date] = {}
    unclear: dict[str, _Numbers] = {}
    for text in texts:
        day = _clear(text)
        if day is not None:
            found[text] = day
        elif (numbers := _numbers(text)) is not None and any(_both(numbers)):
            unclear[text] = numbers
    chosen = order or _order_of(unclear, name)
    for text, numbers in unclear.items():
        day = _both(numbers)[DATE_ORDERS.index(chosen)]
        if day is not None:
            found[text] = day
    return found


def is_date(text: str) -> bool:
    """Whether a text writes a date, whatever the order of its day and month."""
    return _clear(text) is not None or (
        (numbers := _numbers(text)) is not None and any(_both(numbers))
    )


def _clear(text: str) -> date | None:
    """A date with its year first or its month as a word."""
    word = _word(text)
    if match := _NUMERIC.fullmatch(word):
        year_first = len(match[1]) == 4
        return _day(int(match[1]), int(match[3]), int(match[4])) if year_first else None
    match = _NAMED.fullmatch(word)
    if match is None or match[2][:3].lower() not in _MONTHS:
        return None
    return _day(_year(match[3]), _MONTHS.index(match[2][:3].lower()) + 1, int(match[1]))


def _word(text: str) -> str:
    """The date in a text without the weekday beside it; nothing where it is too long for one."""
    word = text.strip()
    return _BESIDE.sub("", word) if len(word) <= LONGEST_DATE else ""


def _numbers(text: str) -> _Numbers | None:
    match = _NUMERIC.fullmatch(_word(text))
    if match is None or len(match[1]) > 2 or len(match[4]) == 1:
        return None
    return int(match[1]), int(match[3]), _year(match[4])


def _both(numbers: _Numbers) -> tuple[date | None, date | None]:
    """The date with the day first, and with the month first."""
    first, second, year = numbers
    return _day(year, second, first), _day(year, first, second)


def _order_of(unclear: dict[str, _Numbers], name: str) -> DateOrder:
    readings = {text: _both(numbers) for text, numbers in unclear.items()}
    only = [
        [text for text, days in readings.items() if days[1 - place] is None] for place in (0, 1)
    ]
    remedy = CommandText(
        "say which: --dates day-first or --dates month-first",
        "choose day first or month first",
    )
    if only[0] and only[1]:
        message = f"{only[0][0]} can only have the day first, {only[1][0]} only the month"
        raise ImportRefused(Problem(message, name, remedy))
    if not only[0] and not only[1]:
        two = next((days for days in readings.values() if days[0] != days[1]), None)
        if two is not None:
            text = next(text for text, days in readings.items() if days == two)
            message = f"{text} can be {two[0]} or {two[1]}, and no date of the file tells which"
            raise ImportRefused(Problem(message, name, remedy))
    return DATE_ORDERS[1 if only[1] else 0]


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day) if year in YEARS else None
    except ValueError:
        return None
