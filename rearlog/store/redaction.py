"""Taking words out of the tables of a cohort file, with a mark that they were there.

What is redacted is gone: the table `redactions` says which field of which records it was, when that
was done and by whom, and nothing of what stood there.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rearlog.records.errors import RecordError
from rearlog.store import codec
from rearlog.store.layout import Document, Tables

FIELDS = (
    "note", "by", "because", "cause", "place", "food", "container", "clutch", "source",
)  # fmt: skip
"""The fields in which anybody may write anything; `because` is why a record was struck out."""
REDACTED = "(redacted)"
"""Stands where a reason must stand."""

_NOBODY = re.compile(r"\?[1-9][0-9]*")
"""Stands for an observer whose name is gone."""
_TABLE = "redactions"
_TABLES = ("cohort", "individuals", "observations", "temperatures")


@dataclass(frozen=True, slots=True)
class Redaction:
    """That a field of some records was redacted: their numbers by the tables that they are in."""

    at: datetime
    field: str
    records: dict[str, list[int]]
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to go: some fields; of them those `saying` a word or more, or those of the
    observations with these numbers; without either, all."""

    fields: tuple[str, ...]
    saying: str | None = None
    numbers: frozenset[int] = frozenset()

    def concerns(self, text: str) -> bool:
        """Whether the text says the words, as words of their own, in any case."""
        if self.saying is None:
            return True
        wanted = rf"(?<!\w){re.escape(self.saying.strip().casefold())}(?!\w)"
        return re.search(wanted, text.casefold()) is not None


Choice = Callable[[str, Document, str, str], bool]
"""Whether a text is to go, given its table, its record, the field and itself."""


def choice(wanted: Wanted, tables: Tables) -> Choice:
    """What is to go from the file with these tables, and from all copies of it.

    A record with a number is known again in a copy by whom was looked at and when. Raises
    RecordError for numbers that are not there.
    """
    if not wanted.numbers:
        return lambda _table, _record, field, text: field in wanted.fields and wanted.concerns(text)
    checks = tables.get("observations", {})
    missing = sorted(number for number in wanted.numbers if str(number) not in checks)
    if missing:
        raise RecordError(f"there is no record {', '.join(f'@{each}' for each in missing)}")
    looks = {_look(checks[str(number)]) for number in wanted.numbers}
    return lambda table, record, field, text: (
        field in wanted.fields
        and table == "observations"
        and _look(record) in looks
        and wanted.concerns(text)
    )


def _look(record: Document) -> tuple[Any, Any]:
    return record.get("individual"), record.get("at")


def redacted(tables: Tables, goes: Choice, at: datetime, by: str | None) -> tuple[Tables, int]:
    """The tables without what is to go, with marks for it, and how many fields that were."""
    after = copy.deepcopy(tables)
    others = _observers(after)
    gone: dict[str, dict[str, list[int]]] = {}
    count = 0
    for table in _TABLES:
        for number, record in after.get(table, {}).items():
            observer = record.get("by")
            for field in cleared(table, record, goes):
                count += 1
                if table == "observations" and "by" not in record and observer:
                    record["by"] = others.setdefault(observer, f"?{len(others) + 1}")
                numbers = gone.setdefault(field, {}).setdefault(table, [])
                if int(number) not in numbers:
                    numbers.append(int(number))
    marks = after.get(_TABLE, {})
    for mark in marks.values():  # who redacted before is a name too
        if "by" in mark and goes(_TABLE, mark, "by", mark["by"]):
            del mark["by"]
            count += 1
    for field, records in gone.items():
        mark = {"at": at.isoformat(), "field": field, "records": records}
        marks[str(len(marks) + 1)] = mark | ({"by": by} if by else {})
    return (after | {_TABLE: marks} if marks else after), count


def _observers(tables: Tables) -> dict[str, str]:
    """Those whose names are gone already: two who looked at one moment stay two."""
    every = (each.get("by") for each in tables.get("observations", {}).values())
    return {by: by for by in every if isinstance(by, str) and _NOBODY.fullmatch(by)}


def cleared(table: str, record: Document, goes: Choice) -> Iterator[str]:
    """Take out of a record what is to go; the fields that it was, one by one."""
    for field in FIELDS:
        text = record.get(field)
        if not isinstance(text, str) or (field == "by" and _NOBODY.fullmatch(text)):
            continue
        if goes(table, record, field, text):
            del record[field]
            yield field
    for mark in record.get("marks", ()):
        if "by" in mark and goes(table, record, "by", mark["by"]):
            del mark["by"]
            yield "by"
        because = mark["because"]
        if because != REDACTED and goes(table, record, "because", because):
            mark["because"] = REDACTED
            yield "because"


def redactions_in(tables: Tables) -> list[Redaction]:
    """The marks, in the order of writing; raises Misfit for what is none."""
    return [_redaction(each) for each in tables.get(_TABLE, {}).values()]


def _redaction(document: Document) -> Redaction:
    try:
        rest = document.keys() - {"by"}
        records = document["records"]
        numbers = [each for found in records.values() for each in found]
        sound = (
            rest == {"at", "field", "records"}
            and document["field"] in FIELDS
            and records.keys() <= set(_TABLES)
            and set(map(type, numbers)) <= {int}
        )
        by = document.get("by")
        if sound and (by is None or type(by) is str):
            return Redaction(codec.moment(document["at"]), document["field"], records, by)
    except (AttributeError, KeyError, TypeError, ValueError):
        pass
    raise codec.Misfit("this is not a mark of what was redacted")


def kept_redacted(tables: Tables) -> tuple[Tables, int]:
    """The tables without what was redacted and has come back by another way, and how much it was.

    Raises Misfit where the marks cannot be read.
    """
    marked = {
        (table, number, each.field)
        for each in redactions_in(tables)
        for table, numbers in each.records.items()
        for number in numbers
    }
    after, count = copy.deepcopy(tables), 0
    for table in _TABLES:
        for number, record in after.get(table, {}).items():
            fields = {field for field in FIELDS if (table, int(number), field) in marked}
            count += len(list(cleared(table, record, lambda _t, _r, field, _x: field in fields)))  # noqa: B023
    return after, count
