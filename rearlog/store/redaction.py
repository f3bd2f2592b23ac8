"""Taking words out of the tables of a cohort file, with a mark that they were there.

What is redacted is gone: the table `redactions` says which field of which records it was, when that
was done and by whom, and nothing of what stood there.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Any

from msgspec import Struct

from rearlog.records.errors import RecordError
from rearlog.store import codec
from rearlog.store.layout import Document, Tables

FIELDS = (
    "note", "by", "because", "cause", "site", "coordinates", "place", "food", "container", "clutch",
    "source", "photo", "factors",
)  # fmt: skip
"""The fields in which anybody may write anything; `because` is why a record was struck out; of
`photo` the picture goes too, of `factors` each level goes by itself, as `factors.line`, and
`coordinates` are latitude and longitude."""
REDACTED = "(redacted)"
"""Stands where a reason must stand."""

_NOBODY = re.compile(r"\?[1-9][0-9]*")
"""Stands for an observer whose name is gone."""
_TABLE = "redactions"
_TABLES = ("cohort", "individuals", "observations", "temperatures")


class Redaction(Struct, frozen=True):
    """That a field of some records was redacted: their numbers by the tables that they are in."""

    at: datetime
    field: str
    records: dict[str, list[int]]
    by: str | None = None


class Wanted(Struct, frozen=True):
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


Look = tuple[Any, Any]
"""Whom a check is of, and when: by that a record with a number is known again in a copy."""


def looks(wanted: Wanted, tables: Tables) -> list[Look] | None:
    """The looks of the records whose numbers are given; None: all that there are.

    Raises RecordError for numbers that are not there.
    """
    if not wanted.numbers:
        return None
    checks = tables.get("observations", {})
    missing = sorted(number for number in wanted.numbers if str(number) not in checks)
    if missing:
        raise RecordError(f"there is no record {', '.join(f'@{each}' for each in missing)}")
    return [_look(checks[str(number)]) for number in sorted(wanted.numbers)]


def choice(wanted: Wanted, among: Iterable[Look] | None) -> Choice:
    """What is to go from a cohort file, and from all copies of it: of some looks, or of all."""
    if among is None:
        return lambda _table, _record, field, text: (
            _whole(field) in wanted.fields and wanted.concerns(text)
        )
    chosen = set(among)
    return lambda table, record, field, text: (
        field in wanted.fields
        and table == "observations"
        and _look(record) in chosen
        and wanted.concerns(text)
    )


def _look(record: Document) -> Look:
    return record.get("individual"), record.get("at")


def redacted(
    tables: Tables, goes: Choice, at: datetime, by: str | None, others: Observers
) -> tuple[Tables, int]:
    """The tables without what is to go, with marks for it, and how many fields that were."""
    after = copy.deepcopy(tables)
    gone: dict[str, dict[str, list[int]]] = {}
    count = 0
    for table in _TABLES:
        for number, record in after.get(table, {}).items():
            for field in taken_out(table, record, goes, others):
                count += 1
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


Observers = dict[str, str]
"""What stands in the place of each observer: two who looked at one moment stay two."""


def observers_gone(tables: Tables) -> Observers:
    """Those whose names are gone already."""
    every = (each.get("by") for each in tables.get("observations", {}).values())
    return {by: by for by in every if isinstance(by, str) and _NOBODY.fullmatch(by)}


def nameless(observer: str, others: Observers) -> str:
    """What stands in the place of an observer."""
    if observer not in others:
        last = max((int(each[1:]) for each in others.values()), default=0)
        others[observer] = f"?{last + 1}"
    return others[observer]


def taken_out(table: str, record: Document, goes: Choice, others: Observers) -> list[str]:
    """Take out of a record what is to go; the fields that it was, one by one."""
    observer = record.get("by")
    fields = list(cleared(table, record, goes))
    if table == "observations" and observer and "by" not in record:
        record["by"] = nameless(observer, others)
    return fields


def cleared(table: str, record: Document, goes: Choice) -> Iterator[str]:
    """Take out of a record what is to go; the fields that it was, one by one."""
    for field in FIELDS:
        text = record.get(field)
        if not isinstance(text, str) or (field == "by" and _NOBODY.fullmatch(text)):
            continue
        if goes(table, record, field, text):
            del record[field]
            yield field
    if "latitude" in record and goes(
        table, record, "coordinates", f"{record['latitude']}, {record['longitude']}"
    ):
        del record["latitude"], record["longitude"]
        yield "coordinates"
    factors = record.get("factors")
    factors = factors if isinstance(factors, dict) else {}
    for name, level in [*factors.items()]:
        if isinstance(level, str) and goes(table, record, f"factors.{name}", level):
            del factors[name]
            yield f"factors.{name}"
    for mark in record.get("marks", ()):
        if "by" in mark and goes(table, record, "by", mark["by"]):
            del mark["by"]
            yield "by"
        because = mark["because"]
        if because != REDACTED and goes(table, record, "because", because):
            mark["because"] = REDACTED
            yield "because"


def _whole(field: str) -> str:
    """The field that one is a part of, or itself."""
    return field.partition(".")[0]


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
            and _whole(document["field"]) in FIELDS
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
    marked: dict[tuple[str, int], set[str]] = {}
    for each in redactions_in(tables):
        for table, numbers in each.records.items():
            for place in numbers:
                marked.setdefault((table, place), set()).add(each.field)
    after, count = copy.deepcopy(tables), 0
    others = observers_gone(after)
    for table in _TABLES:
        for number, record in after.get(table, {}).items():
            fields = marked.get((table, int(number)), ())
            gone = taken_out(table, record, lambda _t, _r, field, _x: field in fields, others)  # noqa: B023
            count += len(gone)
    return after, count
