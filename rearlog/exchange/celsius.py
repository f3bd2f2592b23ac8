"""Temperatures as files write them, in °C or °F, turned into °C."""

from __future__ import annotations

import re
from typing import Literal

from rearlog.records.command_text import CommandText
from rearlog.records.rules import COLDEST_C, HOTTEST_C

Unit = Literal["C", "F"]

UNNAMED_UNIT = CommandText("say --unit C, or --unit F", "choose °C or °F")
"""What to do where neither a file nor its reader says which unit it has."""

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+")
_UNIT = re.compile(
    r"(?:^|[^a-z])(?P<letter>[cf])(?:[^a-z]|$)|(?P<word>celsius|centigrade|fahrenheit)|"
    r"deg(?P<after>[cf])(?:[^a-z]|$)",
    re.I,
)


class NotATemperature(Exception):
    """A cell that is no temperature; says why, and what would be right."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message, self.remedy = message, remedy


_WITH_UNIT = re.compile(r"([^°A-Za-z]+?)\s*°?\s*([CF])", re.I)


def parted(text: str) -> tuple[str, Unit | None]:
    """A typed temperature as its number and the unit behind it (`72F`); None: there is none."""
    match = _WITH_UNIT.fullmatch(text.strip())
    if match is None:
        return text, None
    return match[1], "F" if match[2] in "fF" else "C"


def is_number(text: str) -> bool:
    """Whether a cell holds a number and nothing else."""
    return _NUMBER.fullmatch(_trimmed(text)) is not None


def _trimmed(text: str) -> str:
    return text.strip().replace("\N{MINUS SIGN}", "-")


def celsius(text: str, unit: Unit, *, typed: bool = False) -> float:
    """The temperature in a cell, in °C to 4 decimals; a decimal comma is read as a point.

    One that is `typed` may have its unit behind it.

    Raises NotATemperature for what is no number, or outside the range that is taken.
    """
    word = _trimmed(text)
    if not _NUMBER.fullmatch(word):
        raise NotATemperature(
            f"“{word[:40]}” is not a number", "write it as 21.5, or leave the cell blank"
        )
    number = float(word.replace(",", "."))
    degrees = number if unit == "C" else round((number - 32) / 1.8, 4)
    if not COLDEST_C <= degrees <= HOTTEST_C:
        shown = f"{number:g} °{unit}"
        remedy = f"{COLDEST_C:g} to {HOTTEST_C:g} °C is taken"
        if unit == "C" and number > 0:
            how = f"write {number:g}F" if typed else CommandText("add --unit F", "choose °F")
            remedy += "; if it is °F, " + how
        raise NotATemperature(f"{shown} cannot be", remedy)
    return degrees


def unit_in(title: str) -> Unit | None:
    """The unit in a column's title, such as `Temp (°F)` or `min_c`; None where there is none."""
    match = _UNIT.search(title)
    if match is None:
        return None
    letter = (match["letter"] or match["word"] or match["after"])[0].upper()
    return "C" if letter == "C" else "F"
