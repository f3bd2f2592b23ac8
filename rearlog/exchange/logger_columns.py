"""Where a logger's file has its titles, times and temperatures: every make has its own way."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import timedelta
from itertools import takewhile

from msgspec import Struct

from rearlog.exchange.celsius import Unit, is_number, unit_in
from rearlog.exchange.clock_times import NoSuchOffset, offset_in, read_clock, split_moment
from rearlog.exchange.delimited import DelimitedTable, Rows, is_blank
from rearlog.exchange.written_dates import is_date
from rearlog.records.command_text import CommandText
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem

_TEMPERATURE = re.compile(r"temp|[°º]\s*[cf]\b|celsius|fahrenheit", re.I)
_BARE_UNIT = re.compile(r"\W*(?:deg\s*)?[cf]\W*", re.I)
_OTHER = re.compile(r"\b(?:dew|wet|alarm|taupunkt)", re.I)
_ROWS_TO_LOOK_AT = 5
_LONGEST_PREAMBLE = 200
"""The readings must begin in so many rows from the top."""

_Times = tuple[int, int | None]
"""The column of the date, and that of the time of day (None: both stand in the first)."""


class Columns(Struct, frozen=True):
    """The places of the columns. `clock` is None where the times stand in the column of the dates.

    `unit` and `offset` (from UTC) are those that the titles name.
    """

    date: int
    clock: int | None
    temperature: int
    unit: Unit | None
    offset: timedelta | None


class Titles(Struct, frozen=True):
    """The titles that the user named, None where the columns are to be found by themselves."""

    time: str | None = None
    temperature: str | None = None

    def find_header(self, rows: Rows) -> int | None:
        """The row with the titles: a temperature's among them, close above the readings.

        Where two could be it, the one that has a title over the times (not a line of units).
        """
        return self._header(rows, self._fit)

    def find_any_header(self, rows: Rows) -> int | None:
        """The row close above the readings, whatever its titles are."""
        return self._header(rows, lambda titles, samples: len(titles) > _time_column(samples))

    def refuse_unknown(self, table: DelimitedTable) -> None:
        """Raise ImportRefused where a title that the user named is not among those of a table."""
        titles = table.rows[table.header]
        remedy = f"the titles are {_listed(titles)}"
        problems = [
            Problem(f"no column is called “{shortened(named)}”", table.line(table.header), remedy)
            for named in (self.time, self.temperature)
            if named is not None and not _places(titles, named)
        ]
        if problems:
            raise ImportRefused(problems)

    def _header(self, rows: Rows, fit: Callable[[Sequence[str], Rows], bool]) -> int | None:
        timed = [*map(_has_time, rows[: _LONGEST_PREAMBLE + _ROWS_TO_LOOK_AT])]
        for first in range(min(len(rows), _LONGEST_PREAMBLE)):
            if not timed[first] or (first and timed[first - 1]):
                continue
            samples = _run(rows, first)
            above = [place for place in range(first - 1, -1, -1) if not is_blank(rows[place])]
            fits = [place for place in above[:_ROWS_TO_LOOK_AT] if fit(rows[place], samples)]
            if fits:
                return next(
                    (place for place in fits if rows[place][_time_column(samples)].strip()), fits[0]
                )
        return None

    def columns(self, table: DelimitedTable) -> Columns:
        """The columns of a table; raises ImportRefused where more than one could be meant."""
        titles = table.rows[table.header]
        first = next(
            place
            for place in range(table.header + 1, len(table.rows))
            if _has_time(table.rows[place])
        )
        samples = _run(table.rows, first)
        times = self._times(titles, samples[0])
        temperatures = self._temperatures(titles, samples)
        problems = [
            Problem(
                f"{'no column' if not found else 'more than one column'} could be the {kind}",
                table.line(table.header),
                CommandText(f"name it with --{kind}-column", f"name the column of the {kind}")
                + f"; the titles are {_listed(titles)}",
            )
            for kind, found in (("time", times), ("temperature", temperatures))
            if len(found) != 1
        ]
        if problems:
            raise ImportRefused(problems)
        day, clock = times[0]
        time_title = titles[day if clock is None else clock]
        unit = unit_in(titles[temperatures[0]])
        try:
            offset = offset_in(time_title)
        except NoSuchOffset:
            message = f"no zone is so far from UTC as “{shortened(time_title)}”"
            remedy = "mend the title, or " + CommandText(
                "say --clock-zone", "name the zone of its clock"
            )
            raise ImportRefused(Problem(message, table.line(table.header), remedy)) from None
        return Columns(day, clock, temperatures[0], unit, offset)

    def _fit(self, titles: Sequence[str], samples: Rows) -> bool:
        """Whether a row can be the titles over some readings."""
        if self.time is not None and not _places(titles, self.time):
            return False
        return len(titles) > _time_column(samples) and bool(self._temperatures(titles, samples))

    def _temperatures(self, titles: Sequence[str], samples: Rows) -> list[int]:
        if self.temperature is not None:
            return _places(titles, self.temperature)
        return [
            place
            for place, title in enumerate(titles)
            if (_TEMPERATURE.search(title) or _BARE_UNIT.fullmatch(title))
            and not _OTHER.search(title)
            and any(place < len(row) and is_number(row[place]) for row in samples)
        ]

    def _times(self, titles: Sequence[str], sample: Sequence[str]) -> list[_Times]:
        """The columns of the times, as far as they have titles."""
        moments, pairs = (
            [each for each in found if max(each[0], each[1] or 0) < len(titles)]
            for found in _layouts(sample)
        )
        if self.time is None:
            return moments or pairs
        named = _places(titles, self.time)
        return [each for each in moments + pairs if each[0] in named or each[1] in named]


def _run(rows: Rows, first: int) -> list[Sequence[str]]:
    """The rows from `first` on, a few at most, as long as they have a time in them."""
    return [*takewhile(_has_time, rows[first : first + _ROWS_TO_LOOK_AT])]


def _has_time(row: Sequence[str]) -> bool:
    moments, days, clocks = _times_in(row)
    return bool(moments or (days and clocks))


def _time_column(samples: Rows) -> int:
    """The column with the time in the first of some rows, or the later one of date and time."""
    moments, pairs = _layouts(samples[0])
    day, clock = (moments or pairs)[0]
    return day if clock is None else max(day, clock)


def _layouts(row: Sequence[str]) -> tuple[list[_Times], list[_Times]]:
    """The columns that hold date and time together, and the pairs that hold them apart."""
    moments, days, clocks = _times_in(row)
    pairs: list[_Times] = [(day, clock) for day in days for clock in clocks]
    return [(place, None) for place in moments], pairs


def _times_in(row: Sequence[str]) -> tuple[list[int], list[int], list[int]]:
    """The columns with date and time, with a date alone, and with a time of day alone."""
    moments, days, clocks = list[int](), list[int](), list[int]()
    for place, cell in enumerate(row):
        both = split_moment(cell)
        if both is not None and is_date(both[0]) and read_clock(both[1]) is not None:
            moments.append(place)
        elif is_date(cell):
            days.append(place)
        elif read_clock(cell) is not None:
            clocks.append(place)
    return moments, days, clocks


def _places(titles: Sequence[str], wanted: str) -> list[int]:
    word = wanted.strip().casefold()
    return [place for place, title in enumerate(titles) if title.strip().casefold() == word]


def _listed(titles: Sequence[str]) -> str:
    return ", ".join(f"“{title.strip()}”" for title in titles if title.strip())
