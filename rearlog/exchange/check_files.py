"""Checks from a file: tidy CSV, which a tapped round is too, or a filled sheet."""

from __future__ import annotations

import os
from datetime import datetime

from rearlog.exchange import observations_csv, sheet_csv, sheet_grid
from rearlog.exchange.delimited import has_table
from rearlog.exchange.written_dates import DateOrder
from rearlog.records.incoming import Incoming
from rearlog.records.log import CohortLog


def read(
    path: str | os.PathLike[str],
    log: CohortLog,
    now: datetime,
    *,
    ignore_extra: bool = False,
    dates: DateOrder | None = None,
) -> Incoming:
    """Read tidy CSV or a filled sheet that is to be taken into a log.

    `ignore_extra` passes over unknown columns of tidy CSV; `dates` tells the order of day and month
    in a sheet. Raises ImportRefused where the file as a whole cannot be read.
    """
    if has_table(path, sheet_grid.find_titles):
        return sheet_csv.read(path, log, now, dates=dates)
    return observations_csv.read(path, log, now, ignore_extra=ignore_extra)
