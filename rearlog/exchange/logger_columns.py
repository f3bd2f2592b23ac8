"""Where a logger's file has its titles, times and temperatures: every make has its own way."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from rearlog.exchange.celsius import Unit, is_number, unit_in
from rearlog.exchange.clock_times import offset_in, read_clock, split_moment
from rearlog.exchange.delimited import Rows, Table, is_blank
from rearlog.exchange.written_dates import is_date
from rearlog.records.errors import ImportRefused, Problem

_TEMPERATURE = re.compile(r"temp|[°º]\s*[cf]\b|celsius|fahrenheit", re.I)
_OTHER = re.compile(r"\b(?:dew|wet|alarm|taupunkt)", re.I)
_ROWS_TO_LOOK_AT = 5
_LONGEST_PREAMBLE = 200
"""Titles are looked for in so many rows from the top."""

_Times = tuple[int, int | None]
"""The column of the date, and that of the time of day (None: both stand in the first)."""


@dataclass(frozen=True, slots=True)
class Columns:
    """The places of the columns. `clock` is None where the times stand in the column of the dates.

    `unit` and `offset` (from UTC) are those that the titles name.
    """

    date: int
    clock: int | None
    temperature: int
    unit: Unit | None
    offset: timedelta | None


@dataclass(frozen=True, slots=True)
class Titles:
    """The titles that the user named, None where the columns are to be found by themselves."""

    time: str | None = None
    temperature: str | None = None

    def find_header(self, rows: Rows) -> int | None:
        """The row with the titles: a temperature's is among them, and readings stand below it."""
        for place, row in enumerate(rows[:_LONGEST_PREAMBLE]):
            if self._may_be_titles(row):
                samples = _samples(rows, place)
                if samples and self._temperatures(row, samples):
                    return place
        return None

    def columns(self, table: Table) -> Columns:
        """The columns of a table; raises ImportRefused where more than one could be meant."""
        titles = table.rows[table.header]
        samples = _samples(table.rows, table.header)
        times = self._times(titles, samples[0])
        temperatures = self._temperatures(titles, samples)
        problems = [
            Problem(
                f"{'no column' if not found else 'more than one column'} could be the {kind}",
                table.line(table.header),
                f"name it with --{kind}-column; the titles are {_listed(titles)}",
            )
            for kind, found in (("time", times), ("temperature", temperatures))
            if len(found) != 1
        ]
        if problems:
            raise ImportRefused(problems)
        day, clock = times[0]
        time_title = titles[day if clock is None else clock]
        temperature = temperatures[0]
        return Columns(day, clock, temperature, unit_in(titles[temperature]), offset_in(time_title))

    def _may_be_titles(self, row: Sequence[str]) -> bool:
        if self.time is not None and not _places(row, self.time):
            return False
        if self.temperature is not None:
            return bool(_places(row, self.temperature))
        return any(_TEMPERATURE.search(cell) or unit_in(cell) for cell in row)

    def _temperatures(self, titles: Sequence[str], samples: Rows) -> list[int]:
        if self.temperature is not None:
            return _places(titles, self.temperature)
        return [
            place
            for place, title in enumerate(titles)
            if (_TEMPERATURE.search(title) or unit_in(title))
            and not _OTHER.search(title)
            and any(place < len(row) and is_number(row[place]) for row in samples)
        ]

    def _times(self, titles: Sequence[str], sample: Sequence[str]) -> list[_Times]:
        moments, pairs = _layouts(sample)
        if self.time is None:
            return moments or pairs
        named = _places(titles, self.time)
        return [each for each in moments + pairs if each[0] in named or each[1] in named]


def _samples(rows: Rows, header: int) -> list[Sequence[str]]:
    """Of the first rows below the titles those with a time in them."""
    below = (
        row for row in rows[header + 1 : header + 1 + 2 * _ROWS_TO_LOOK_AT] if not is_blank(row)
    )
    near = [row for row, _ in zip(below, range(_ROWS_TO_LOOK_AT), strict=False)]
    return [row for row in near if any(_layouts(row))]


def _layouts(row: Sequence[str]) -> tuple[list[_Times], list[_Times]]:
    """The columns that hold date and time together, and the pairs that hold them apart."""
    moments: list[_Times] = []
    days, clocks = [], []
    for place, cell in enumerate(row):
        both = split_moment(cell)
        if both is not None and is_date(both[0]) and read_clock(both[1]) is not None:
            moments.append((place, None))
        elif is_date(cell):
            days.append(place)
        elif read_clock(cell) is not None:
            clocks.append(place)
    return moments, [(day, clock) for day in days for clock in clocks]


def _places(titles: Sequence[str], wanted: str) -> list[int]:
    word = wanted.strip().casefold()
    return [place for place, title in enumerate(titles) if title.strip().casefold() == word]


def _listed(titles: Sequence[str]) -> str:
    return ", ".join(f"“{title.strip()}”" for title in titles if title.strip())
