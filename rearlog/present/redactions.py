"""What was redacted, as a table."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from rearlog.present.tables import Table
from rearlog.records.wording import stamp
from rearlog.store.redaction import Redaction


class Redactions(Struct, frozen=True):
    """What was redacted in one cohort: that something was there, never what."""

    cohort: str
    redactions: tuple[Redaction, ...]


def redactions_table(cohort: str, marks: Iterable[Redaction]) -> Table:
    """A line a field of a table: how many records had it, when it went, and by whom."""
    return Table(
        f"{cohort}: redacted",
        ["when", "by", "field", "of", "records"],
        [
            [stamp(each.at), each.by or "", each.field, table, _numbers(numbers)]
            for each in marks
            for table, numbers in each.records.items()
        ],
    )


def _numbers(numbers: list[int]) -> str:
    shown = ", ".join(f"@{each}" for each in numbers[:12])
    return f"{shown} and {len(numbers) - 12} more" if len(numbers) > 12 else shown
