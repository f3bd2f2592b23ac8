"""Temperatures from a file, whichever kind it is, and what of them is new to the log."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime

from rearlog.exchange import daily_csv
from rearlog.exchange.daily_csv import DailyFile, read_daily
from rearlog.exchange.delimited import NoTitles, read_table
from rearlog.exchange.logger_csv import LoggerFile, LoggerOptions, read_logger
from rearlog.exchange.temperature_overlap import new_day_extremes, new_readings
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

    Raises ImportRefused with every line that cannot be taken or contradicts the log.
    """
    if is_daily(path):
        daily = read_daily(path, now.date(), dates=options.dates if options else None)
        days = new_day_extremes(log.temperatures, daily.days)
        return NewTemperatures(tuple(days), len(daily.days) - len(days), daily)
    logger = read_logger(path, log.cohort.zone, now, options)
    readings = new_readings(log.temperatures, logger.readings)
    count = len(readings.seconds) if readings else 0
    records = (readings,) if readings else ()
    return NewTemperatures(records, len(logger.readings.seconds) - count, logger)


def is_daily(path: str | os.PathLike[str]) -> bool:
    """Whether a file has the extremes of days (date, min, max); else it may be a logger's.

    Raises ImportRefused where the file cannot be read at all.
    """
    try:
        read_table(path, daily_csv.has_titles, daily_csv.WANTED, fallback="cp1252")
    except NoTitles:
        return False
    return True
