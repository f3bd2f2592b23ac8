"""Finding individuals and stages by what people and spreadsheets make of their codes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


def spellings(codes: Iterable[str]) -> dict[str, str]:
    """Each code by its spelling without regard to case."""
    return {code.casefold(): code for code in codes}


def find_code(text: str, known: Mapping[str, str]) -> str | None:
    """The individual that a cell names; None where there is none.

    Spreadsheets turn 007 into 7: a number finds the one code that has this value.
    """
    word = text.strip().casefold()
    if word in known or not word.isdecimal():
        return known.get(word)
    same = [code for code in known.values() if code.isdecimal() and int(code) == int(word)]
    return same[0] if len(same) == 1 else None
