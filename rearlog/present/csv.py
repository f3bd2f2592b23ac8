"""Answers for spreadsheets: flat rows as CSV."""

from __future__ import annotations

import io
from typing import Any

from rearlog.present.json import plain
from rearlog.present.tables import Table


def to_csv(table: Table) -> str:
    """A flat table as RFC 4180 CSV, with its titles whether there are any rows or not.

    Yes and no are `true` and `false`, as in the JSON; what is not known is empty. Text that a
    spreadsheet would run as a formula is neutralised.
    """
    import csv  # start-up time: tables need it not

    from rearlog.exchange.formula_text import disarmed

    def written(value: Any) -> Any:
        if isinstance(value, bool):
            return "true" if value else "false"
        return disarmed(value) if isinstance(value, str) else value

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(table.columns)
    for row in table.rows:
        writer.writerow(written(plain(each)) for each in row)
    return out.getvalue()
