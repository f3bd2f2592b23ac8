"""Answers for spreadsheets: flat rows as CSV."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from rearlog.present.json import plain
from rearlog.present.tables import Table


def to_csv(rows: Table | Sequence[Any]) -> str:
    """Flat rows, or dataclasses of one kind (see `flat`), as RFC 4180 CSV.

    Text that a spreadsheet would run as a formula is neutralised.
    """
    import csv  # start-up time: tables need it not

    from rearlog.exchange.formula_text import disarmed
    from rearlog.present.flat import flat

    if not isinstance(rows, Table):
        rows = flat(type(rows[0]), rows) if rows else Table("", [], [])
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(rows.columns)
    for row in rows.rows:
        values = map(plain, row)
        writer.writerow(disarmed(each) if isinstance(each, str) else each for each in values)
    return out.getvalue()
