"""Temperatures from a file, whichever kind it is."""

from __future__ import annotations

import os
from datetime import date, datetime, timedelta
from pathlib import Path

from msgspec import Struct

from rearlog.exchange import daily_csv
from rearlog.exchange.daily_csv import DailyFile, read_daily
from rearlog.exchange.delimited import has_table
from rearlog.exchange.logger_csv import LoggerFile, LoggerOptions, read_logger
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog, Temperature


class TemperatureFile(Struct, frozen=True):
    """What the file at a path tells, as `records`, and what was noticed in it."""

    path: Path
    records: tuple[Temperature, ...]
    file: DailyFile | LoggerFile


def read(
    path: str | os.PathLike[str],
    log: CohortLog,
    now: datetime,
    options: LoggerOptions | None = None,
) -> TemperatureFile:
    """Read the daily extremes or the logger's readings in a file.

    Raises ImportRefused with every line that cannot be taken, and for a file that ends before the
    cohort began.
    """
    if is_daily(path):
        options = options or LoggerOptions()
        daily = read_daily(path, now.date(), dates=options.dates, unit=options.unit)
        _refuse_before(log.began, daily.days[-1].date, path)
        return TemperatureFile(Path(path), tuple(daily.days), daily)
    logger = read_logger(path, log.cohort.zone, now, options)
    last = logger.readings.at + timedelta(seconds=logger.readings.seconds[-1])
    _refuse_before(log.began, last.date(), path)
    return TemperatureFile(Path(path), (logger.readings,), logger)


def _refuse_before(began: date, last: date, path: str | os.PathLike[str]) -> None:
    if last < began:
        message = f"it ends on {last}, before the cohort began on {began}"
        remedy = "is it the right file, and was the clock set right?"
        raise ImportRefused(Problem(message, Path(path).name, remedy))


def is_daily(path: str | os.PathLike[str]) -> bool:
    """Whether a file has the extremes of days (date, min, max); else it may be a logger's.

    Raises ImportRefused where the file cannot be read at all.
    """
    return has_table(path, daily_csv.find_titles, fallback="cp1252")
