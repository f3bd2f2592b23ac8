"""Temperatures from a file, whichever kind it is, and what of them is new to the log."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from rearlog.exchange import daily_csv
from rearlog.exchange.daily_csv import DailyFile, read_daily
from rearlog.exchange.delimited import has_table
from rearlog.exchange.logger_csv import LoggerFile, LoggerOptions, read_logger
from rearlog.exchange.temperature_overlap import new_day_extremes, new_readings
from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog, Temperature


@dataclass(frozen=True, slots=True)
class NewTemperatures:
    """What a file adds to a log: `records`; how many of its values were there `already`."""

    records: tuple[Temperature, ...]
    already: int
    file: DailyFile | LoggerFile


def read(
    path: str | os.PathLike[str],
    log: CohortLog,
    now: datetime,
    options: LoggerOptions | None = None,
) -> NewTemperatures:
    """Read daily extremes or a logger's readings, and leave out what the log has already.

    Raises ImportRefused with every line that cannot be taken or contradicts the log, and for a
    file that ends before the cohort began.
    """
    began = _began(log)
    if is_daily(path):
        options = options or LoggerOptions()
        daily = read_daily(path, now.date(), dates=options.dates, unit=options.unit)
        _refuse_before(began, daily.days[-1].date, path)
        days = new_day_extremes(log.temperatures, daily.days)
        return NewTemperatures(tuple(days), len(daily.days) - len(days), daily)
    logger = read_logger(path, log.cohort.zone, now, options)
    last = logger.readings.at + timedelta(seconds=logger.readings.seconds[-1])
    _refuse_before(began, last.date(), path)
    readings = new_readings(log.temperatures, logger.readings)
    count = len(readings.seconds) if readings else 0
    records = (readings,) if readings else ()
    return NewTemperatures(records, len(logger.readings.seconds) - count, logger)


def _began(log: CohortLog) -> date:
    """The first day of which a temperature matters: the laying of the first egg, or the start."""
    laid = [each.laid_after or each.entered_at for each in log.individuals]
    return min([*laid, log.cohort.started]).date()


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
