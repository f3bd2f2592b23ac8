"""Finding individuals and stages by what people and spreadsheets make of their codes."""

from __future__ import annotations

from collections.abc import Iterable

_LONGEST_CODE = 100


def spellings(codes: Iterable[str]) -> dict[str, str]:
    """Each code by its spelling without regard to case."""
    return {code.casefold(): code for code in codes}


class Codes:
    """The codes of a cohort, to be found by what stands in a cell."""

    def __init__(self, codes: Iterable[str]) -> None:
        self._spelt = spellings(codes)
        self._numbered: dict[int, str | None] = {}
        for code in filter(str.isdecimal, self._spelt.values()):
            value = int(code)  # two codes of one value are not told apart by it
            self._numbered[value] = None if value in self._numbered else code

    def __str__(self) -> str:
        return ", ".join(self._spelt.values())

    def find(self, text: str) -> str | None:
        """The individual that a cell names; None where there is none.

        Spreadsheets turn 007 into 7: a number finds the one code that has this value.
        """
        word = text.strip().casefold()
        if word in self._spelt or not word.isdecimal() or len(word) > _LONGEST_CODE:
            return self._spelt.get(word)
        return self._numbered.get(int(word))
