"""Checks from a file, tidy CSV or a filled sheet, and what of them is new to the log."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime

from rearlog.exchange import observations_csv, sheet_csv, sheet_grid
from rearlog.exchange.delimited import has_table
from rearlog.exchange.incoming import new_checks
from rearlog.exchange.temperature_overlap import new_day_extremes
from rearlog.exchange.written_dates import DateOrder
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog, DayExtremes, Observation


@dataclass(frozen=True, slots=True)
class NewRecords:
    """What a file adds to a log; how many of its checks and days were there `already`."""

    observations: tuple[Observation, ...]
    days: tuple[DayExtremes, ...]
    already: int


def read(
    path: str | os.PathLike[str],
    log: CohortLog,
    now: datetime,
    *,
    ignore_extra: bool = False,
    dates: DateOrder | None = None,
) -> NewRecords:
    """Read tidy CSV or a filled sheet, and leave out what the log has already.

    `ignore_extra` passes over unknown columns of tidy CSV; `dates` tells the order of day and month
    in a sheet. Raises ImportRefused with every cell that cannot be taken, contradicts the log or
    breaks a rule.
    """
    if has_table(path, sheet_grid.find_titles):
        incoming = sheet_csv.read(path, log, now, dates=dates)
    else:
        incoming = observations_csv.read(path, log, now, ignore_extra=ignore_extra)
    problems: list[Problem] = []
    observations: list[Observation] = []
    days: list[DayExtremes] = []
    try:
        observations, _ = new_checks(log, incoming, now)
    except ImportRefused as refused:
        problems += refused.problems
    try:
        days = new_day_extremes(log.temperatures, incoming.days)
    except ImportRefused as refused:
        problems += refused.problems
    if problems:
        raise ImportRefused(problems)
    already = len(incoming.checks) + len(incoming.days) - len(observations) - len(days)
    return NewRecords(tuple(observations), tuple(days), already)
