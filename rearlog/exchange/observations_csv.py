"""Observations as tidy CSV: one line a check (RFC 4180, UTF-8).

    individual,at,stage,fate,cause,witnessed,length_mm,head_width_mm,mass_mg,sex,by,note

`individual`, `at` and one of `stage` and `fate` are required.
"""

from __future__ import annotations

import csv
import math
import os
import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from itertools import zip_longest
from typing import TextIO

from rearlog.exchange.codes import Codes, spellings
from rearlog.exchange.delimited import MOST_PROBLEMS, Rows, Table, is_blank, read_table
from rearlog.exchange.formula_text import disarmed, restored
from rearlog.exchange.written_dates import YEARS
from rearlog.records.entries import SEXES, shortened
from rearlog.records.errors import ImportRefused, Problem, UsageError
from rearlog.records.incoming import Incoming, Placed
from rearlog.records.log import MEASUREMENTS, CohortLog, Observation
from rearlog.records.profile import FATES
from rearlog.records.times import read_moment
from rearlog.records.wording import stamp

COLUMNS = (
    *("individual", "at", "stage", "fate", "cause", "witnessed"),
    *MEASUREMENTS,
    *("sex", "by", "note"),
)
TEXT_COLUMNS = ("individual", "stage", "fate", "cause", "sex", "by", "note")
"""Columns with text, which a spreadsheet could take for a formula."""

_NUMBER = re.compile(r"[+-]?(\d+(?:\.\d*)?|\.\d+)([eE][+-]?\d+)?")


def write(
    observations: Iterable[Observation], stream: TextIO, *, names: bool = True, notes: bool = True
) -> None:
    """Write observations as tidy CSV to a text stream (opened with `newline=""`).

    Without `names` the column `by` is left out, without `notes` the column `note`. Times carry
    their offset from UTC. What a spreadsheet would run as a formula is disarmed.
    """
    left_out = {name for name, wanted in (("by", names), ("note", notes)) if not wanted}
    columns = [name for name in COLUMNS if name not in left_out]
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    for observation in observations:
        writer.writerow([_cell(name, getattr(observation, name)) for name in columns])


def _cell(name: str, value: object) -> str:
    if value is None or value is False:
        return ""
    if value is True:
        return "yes"
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return disarmed(str(value)) if name in TEXT_COLUMNS else str(value)


def find_titles(rows: Rows) -> int | None:
    """The row with the column titles of this format, None where the first one has them not."""
    for place, row in enumerate(rows):
        if not is_blank(row):
            titles = {cell.strip().casefold() for cell in row}
            return place if len(titles.intersection(COLUMNS)) >= 2 else None
    return None


def read(
    path: str | os.PathLike[str], log: CohortLog, now: datetime, *, ignore_extra: bool = False
) -> Incoming:
    """The checks in a file, and every cell that cannot be taken.

    A date without a time stands at the cohort's check time. Columns that are not known are
    refused by name, or ignored. Semicolons or tabs may stand between cells; numbers then may have
    a decimal comma. Raises ImportRefused where the file as a whole cannot be read.
    """
    wanted = "the first line names the columns: " + ",".join(COLUMNS)
    table = read_table(path, find_titles, wanted)
    columns = _columns(table, ignore_extra)
    reader = _Cells(table, columns, log, now)
    checks = []
    for row in range(table.header + 1, len(table.rows)):
        if not is_blank(table.rows[row]) and (placed := reader.check(row)) is not None:
            checks.append(placed)
        if len(reader.problems) >= MOST_PROBLEMS:
            break
    problems = reader.problems + _twice(checks)
    return Incoming(tuple(checks), problems=tuple(problems))


def _columns(table: Table, ignore_extra: bool) -> dict[str, int]:
    """The place of each known column; raises ImportRefused where the titles are wrong."""
    titles = [cell.strip().casefold() for cell in table.rows[table.header]]
    where = table.line(table.header)
    problems = []
    for name, count in Counter(titles).items():
        if name and count > 1:
            problems.append(Problem(f"the column {shortened(name)} is there twice", where))
        if name and name not in COLUMNS and not ignore_extra:
            remedy = "take it out, or add --ignore-extra"
            problems.append(Problem(f"the column {shortened(name)} is not known", where, remedy))
    for name in ("individual", "at"):
        if name not in titles:
            problems.append(Problem(f"the column {name} is missing", where))
    if "stage" not in titles and "fate" not in titles:
        problems.append(Problem("there is neither a column stage nor a column fate", where))
    if problems:
        raise ImportRefused(problems)
    return {name: titles.index(name) for name in COLUMNS if name in titles}


class _Unreadable(Exception):
    def __init__(self, message: str, remedy: str = "") -> None:
        self.message, self.remedy = message, remedy


class _Cells:
    """Reads rows into checks and collects what is wrong with their cells."""

    def __init__(
        self, table: Table, columns: dict[str, int], log: CohortLog, now: datetime
    ) -> None:
        self.problems: list[Problem] = []
        self._table, self._columns, self._cohort, self._now = table, columns, log.cohort, now
        self._individuals = Codes(log.by_code)
        self._known = shortened(str(self._individuals))
        self._stages = spellings(log.cohort.species.codes)
        self._readers: dict[str, Callable[[str], object]] = {
            "individual": self._individual,
            "at": self._moment,
            "stage": self._stage,
            "fate": _fate,
            "witnessed": _yes,
            "sex": _sex,
            **dict.fromkeys(MEASUREMENTS, self._number),
        }

    def check(self, row: int) -> Placed | None:
        """The check in a row; None where a cell of it cannot be taken."""
        cells, where = self._table.rows[row], self._table.line(row)
        titles = self._table.rows[self._table.header]
        beyond = [
            cell for cell, title in zip_longest(cells, titles, fillvalue="") if not title.strip()
        ]
        if len(cells) <= max(self._columns.values()) or not is_blank(beyond):
            remedy = "one may be missing, or a comma in a text needs quotation marks around it"
            message = f"its {len(cells)} cells do not fit the {len(titles)} titles"
            self.problems.append(Problem(message, where, remedy))
            return None
        values: dict[str, object] = {}
        before = len(self.problems)
        for name, place in self._columns.items():
            try:
                values[name] = self._value(name, cells[place])
            except _Unreadable as mistake:
                here = f"{where}, column {name}"
                self.problems.append(Problem(mistake.message, here, mistake.remedy))
        self._together(values, where, before)
        if len(self.problems) > before:
            return None
        day_only = ":" not in cells[self._columns["at"]]
        return Placed(Observation(**values), where, day_only)  # type: ignore[arg-type]

    def _value(self, name: str, cell: str) -> object:
        if not cell.strip():
            if name in ("individual", "at"):
                raise _Unreadable("the cell is empty")
            return False if name == "witnessed" else None
        text = restored(cell) if name in TEXT_COLUMNS else cell
        read_cell = self._readers.get(name)
        return text if read_cell is None else read_cell(text)

    def _together(self, values: dict[str, object], where: str, before: int) -> None:
        """What only the cells of a row together can have wrong."""
        if len(self.problems) > before:
            return
        if values.get("stage") is None and values.get("fate") is None:
            message = "neither a stage nor a fate"
            self.problems.append(Problem(message, where, "leave the line out if it was not seen"))
        if values.get("cause") is not None and values.get("fate") is None:
            message = "a cause without a fate"
            self.problems.append(Problem(message, f"{where}, column cause", _known(FATES)))

    def _individual(self, text: str) -> str:
        code = self._individuals.find(text)
        if code is None:
            told = f"no individual {shortened(text)}"
            raise _Unreadable(told, f"this cohort has {self._known}")
        return code

    def _moment(self, text: str) -> datetime:
        remedy = "write 2026-03-09 or 2026-03-09T08:40"
        if not text.strip()[:1].isdecimal():  # today and monday change their meaning with time
            raise _Unreadable(f"“{shortened(text)}” is not a date", remedy)
        try:
            moment = read_moment(text, self._cohort.zone, self._cohort.check_time, self._now)
        except UsageError as error:
            raise _Unreadable(error.problems[0].message, remedy) from None
        if moment.year not in YEARS:
            raise _Unreadable(f"the year {moment.year} cannot be", remedy)
        return moment

    def _stage(self, text: str) -> str:
        code = self._stages.get(text.strip().casefold())
        if code is None:
            raise _Unreadable(f"“{shortened(text)}” is no stage", _known(self._stages.values()))
        return code

    def _number(self, text: str) -> float:
        word = text.strip()
        if self._table.separator != ",":
            word = word.replace(",", ".", 1)
        if not _NUMBER.fullmatch(word) or not math.isfinite(float(word)):
            remedy = "write it with a point, such as 0.61, and without its unit"
            raise _Unreadable(f"“{shortened(text)}” is not a number", remedy)
        return float(word)


def _fate(text: str) -> str:
    word = text.strip().casefold()
    if word not in FATES:
        raise _Unreadable(f"“{shortened(text)}” is no fate", _known(FATES))
    return word


def _yes(text: str) -> bool:
    if text.strip().casefold() != "yes":
        raise _Unreadable(f"“{shortened(text)}” is neither yes nor blank")
    return True


def _sex(text: str) -> str:
    word = text.strip().casefold()
    if word not in SEXES:
        raise _Unreadable(f"sex “{shortened(text)}” is not known", _known(SEXES))
    return word


def _known(words: Iterable[str]) -> str:
    return f"use {', '.join(words)}"


def _twice(checks: Sequence[Placed]) -> list[Problem]:
    """Checks of one individual at one moment that stand in the file more than once."""
    first: dict[tuple[str, datetime], str] = {}
    problems = []
    for each in checks:
        key = (each.check.individual, each.check.at)
        earlier = first.setdefault(key, each.place)
        if earlier != each.place:
            line = earlier.rpartition("line ")[2]
            message = f"{key[0]} at {stamp(key[1])} stands on line {line} already"
            problems.append(Problem(message, each.place, "one moment has one check"))
        if len(problems) >= MOST_PROBLEMS:
            break
    return problems
