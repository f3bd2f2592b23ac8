"""Observations as tidy CSV: one line a check (RFC 4180, UTF-8).

    individual,at,stage,fate,cause,witnessed,length_mm,head_width_mm,mass_mg,sex,by,note,same,
    eggs,hatched,mate

`individual`, `at` and one of `stage`, `same` and `fate` are required. With `same` (yes: no change)
the stage beside it was derived, and is not taken for a call of the observer.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import TextIO

from rearlog.exchange import tables
from rearlog.exchange.codes import Codes, spellings
from rearlog.exchange.formula_text import restored
from rearlog.exchange.layouts import TIDY
from rearlog.exchange.log_tables import row_of
from rearlog.exchange.table_logs import as_said
from rearlog.exchange.tables import CellReader, NoValue
from rearlog.records.clock import YEARS
from rearlog.records.command_text import CommandText
from rearlog.records.entries import shortened
from rearlog.records.errors import ImportRefused, Problem, UsageError
from rearlog.records.fates import FATES
from rearlog.records.fields import STATES
from rearlog.records.incoming import Incoming, Placed
from rearlog.records.log import CohortLog, Observation
from rearlog.records.times import read_moment

_EXTRA = CommandText(
    "take it out, or add --ignore-extra", "take it out, or choose to pass over other columns"
)
"""What to do with a column that is not known."""


def write(
    observations: Iterable[Observation],
    stream: TextIO,
    derived: Mapping[Observation, str] | None = None,
) -> None:
    """Write observations as tidy CSV to a text stream (opened with `newline=""`).

    `derived` are the stages of those that said “no change”. Times carry their offset from UTC. What
    a spreadsheet would run as a formula is disarmed.
    """
    stages = derived or {}
    rows = (row_of(each, TIDY, stage=stages.get(each, each.stage)) for each in observations)
    tables.TableWriter(TIDY, stream).write(rows)


def read(
    path: str | os.PathLike[str], log: CohortLog, now: datetime, *, ignore_extra: bool = False
) -> Incoming:
    """The checks in a file, and every cell that cannot be taken.

    A date without a time stands at the cohort's check time. Columns that are not known are
    refused by name, or ignored. Semicolons or tabs may stand between cells; numbers then may have
    a decimal comma. Raises ImportRefused where the file as a whole cannot be read.
    """
    extra = None if ignore_extra else _EXTRA
    table = tables.titled(path, TIDY, extra)
    titles = {cell.strip().casefold() for cell in table.rows[table.header]}
    if titles.isdisjoint(STATES):
        message = "there is no column stage, same or fate"
        raise ImportRefused(Problem(message, table.line(table.header)))
    problems: list[Problem] = []
    checks = []
    for line, cells in tables.lines_of(table, TIDY, problems, _readers(log, now)):
        together = _together(line)
        problems += together
        if not together:
            day_only = ":" not in cells["at"]
            checks.append(Placed(as_said(line.values), line.place, day_only))
    problems += tables.repeated(
        ((each.check.individual, each.check.at, *filter(None, [each.check.by])), each.place)
        for each in checks
    )
    return Incoming(tuple(checks), problems=tuple(problems))


def _together(line: tables.Line) -> list[Problem]:
    """What only the cells of a row together can have wrong."""
    problems = []
    if line["stage"] is None and line["fate"] is None and not line["same"]:
        remedy = "leave the line out if it was not seen"
        problems.append(Problem("neither a stage nor a fate", line.place, remedy))
    if line["cause"] is not None and line["fate"] is None:
        remedy = f"use {', '.join(FATES)}"
        problems.append(Problem("a cause without a fate", f"{line.place}, column cause", remedy))
    return problems


def _readers(log: CohortLog, now: datetime) -> dict[str, CellReader]:
    """The readers of cells whose meaning hangs on the log."""
    individuals, stages = Codes(log.by_code), spellings(log.cohort.species.codes)
    known = shortened(str(individuals))

    def individual(cell: str) -> str:
        text = restored(cell)
        code = individuals.find(text)
        if code is None:
            raise NoValue(f"no individual {shortened(text)}", f"this cohort has {known}")
        return code

    def stage(cell: str) -> str:
        code = stages.get(cell.strip().casefold())
        if code is None:
            told = ", ".join(stages.values())
            raise NoValue(f"“{shortened(cell)}” is no stage", f"use {told}")
        return code

    def moment(cell: str) -> datetime:
        remedy = "write 2026-03-09 or 2026-03-09T08:40"
        if not cell.strip()[:1].isdecimal():  # today and monday change their meaning with time
            raise NoValue(f"“{shortened(cell)}” is not a date", remedy)
        try:
            found = read_moment(cell, log.cohort.zone, log.cohort.check_time, now)
        except UsageError as error:
            raise NoValue(error.problems[0].message, remedy) from None
        if found.year not in YEARS:
            raise NoValue(f"the year {found.year} cannot be", remedy)
        return found

    return {"individual": individual, "at": moment, "stage": stage}
