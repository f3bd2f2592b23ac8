"""Records as TinyDB documents and back. Fields that are unknown are left out of the document.

Reading is strict: a value of the wrong kind, a field too many or one too few is a Misfit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import MISSING, fields
from datetime import date, datetime, timedelta
from functools import lru_cache
from math import isfinite
from reprlib import repr as brief
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import orjson

from rearlog.records.entries import CODE
from rearlog.records.errors import ProfileError, RecordError
from rearlog.records.fields import FIELDS, Kind
from rearlog.records.log import (
    Cohort,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
    Temperature,
)
from rearlog.records.profile import Profile
from rearlog.store.layout import Document
from rearlog.store.profile_shape import shape_problem

Record = Observation | Individual | Temperature | Cohort
R = TypeVar("R")

FIRST_YEAR, LAST_YEAR = 1900, 2199
"""Dates outside these years are mistakes, and would break sums of days."""

NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")
"""What a cohort may be called; the name goes into file names."""

LONGEST_NUMBER = 12
"""The most digits of a record's number."""

_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
_KINDS: dict[str, type[Temperature]] = {
    "day": DayExtremes,
    "constant": ConstantTemperature,
    "readings": Readings,
}
_KIND_OF = {record: kind for kind, record in _KINDS.items()}


class Misfit(ValueError):
    """A document that is not a record: says which field, and what it should be."""


def to_document(record: Record) -> Document:
    """A record as a document of plain JSON values.

    Raises RecordError where it could not be read again.
    """
    document: Document = {}
    if isinstance(record, DayExtremes | ConstantTemperature | Readings):
        document["kind"] = _KIND_OF[type(record)]
    for each in fields(record):
        value = getattr(record, each.name)
        if value is None or value is False or value == () or each.name == "number":
            continue
        document[each.name] = _plain(value)
    try:
        orjson.dumps(document)
        _read_again(record, document)
    except Misfit as error:
        raise RecordError(f"this cannot be written down: {error}") from None
    except TypeError:
        remedy = "use a terminal or a file in UTF-8"
        raise RecordError("this cannot be written down: it holds broken letters", remedy) from None
    return document


def _plain(value: Any) -> Any:
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    if isinstance(value, Mark):
        return _mark_document(value)
    if isinstance(value, Profile):
        return value.to_dict()
    if isinstance(value, tuple):
        return [_mark_document(each) if isinstance(each, Mark) else each for each in value]
    return value


def _read_again(record: Record, document: Document) -> None:
    if isinstance(record, Observation):
        observation(document, 1)
    elif isinstance(record, Individual):
        individual(document, 1)
    elif isinstance(record, Cohort):
        cohort(document, 1)
    else:
        temperature(document, 1)


def marked_document(document: Document, marks: Iterable[Mark]) -> Document:
    """The document of a record, with these marks in place of those that it has."""
    return document | {"marks": list(map(_mark_document, marks))}


def _mark_document(mark: Mark) -> Document:
    document: Document = {"at": mark.at.isoformat(), "because": mark.because}
    document |= {"by": mark.by} if mark.by else {}
    return document | {"back": True} if mark.back else document


def observation(document: Document, number: int) -> Observation:
    """The observation in a document, with its number in the file; raises Misfit."""
    return _made(Observation, document, number=number)


def individual(document: Document, _number: int) -> Individual:
    """The individual in a document; raises Misfit."""
    return _made(Individual, document)


def temperature(document: Document, number: int) -> Temperature:
    """The temperature record in a document, with its number in the file; raises Misfit."""
    rest = dict(document) if type(document) is dict else {}
    kind = rest.pop("kind", None)
    if not isinstance(kind, str) or kind not in _KINDS:
        raise Misfit(f"kind is not one of {', '.join(_KINDS)}")
    record = _made(_KINDS[kind], rest, number=number)
    if isinstance(record, DayExtremes):
        return record
    if isinstance(record, ConstantTemperature) != isinstance(record.celsius, int | float):
        raise Misfit(f"celsius does not suit the kind {kind}")
    if isinstance(record, Readings) and len(record.seconds) != len(record.celsius):
        raise Misfit(f"{len(record.seconds)} times and {len(record.celsius)} temperatures")
    if isinstance(record, Readings) and not _in_calendar(record):
        raise Misfit(f"its readings leave the years {FIRST_YEAR} to {LAST_YEAR}")
    return record


def _in_calendar(run: Readings) -> bool:
    """Whether all its readings have a date that a record may have (they are in order)."""
    try:
        ends = (run.at + timedelta(seconds=each) for each in (run.seconds[0], run.seconds[-1]))
        return all(FIRST_YEAR <= each.year <= LAST_YEAR for each in ends)
    except OverflowError:
        return False


def cohort(document: Document, _number: int) -> Cohort:
    """The cohort in a document; raises Misfit."""
    return _made(Cohort, document)


def _made(kind: type[R], document: Document, **known: Any) -> R:
    values = known
    if type(document) is not dict:
        raise Misfit(f"this is not a record: {brief(document)}")
    allowed, required = _FIELDS[kind]
    for name, value in document.items():
        if name not in allowed:
            raise Misfit(f"there is no field “{name[:40]}”")
        read, wanted = _READERS[name]
        try:
            values[name] = read(value)
        except (TypeError, ValueError) as error:
            told = error if isinstance(error, Misfit) else f"is not {wanted}: {brief(value)}"
            raise Misfit(f"{name} {told}") from None
    if not required <= values.keys():
        raise Misfit(f"{', '.join(sorted(required - values.keys()))} is missing")
    return kind(**values)


def _fields_of(kind: type[Any]) -> tuple[frozenset[str], frozenset[str]]:
    """The fields that a document may have, and those that it must have."""
    allowed = [each for each in fields(kind) if each.name != "number"]
    required = (each.name for each in allowed if each.default is MISSING)
    return frozenset(each.name for each in allowed), frozenset(required)


_FIELDS: dict[type[Any], tuple[frozenset[str], frozenset[str]]] = {
    kind: _fields_of(kind) for kind in (Cohort, Individual, Observation, Mark, *_KINDS.values())
}


# One reader a field name; each raises TypeError or ValueError for what it cannot take.


def _text(value: Any) -> str:
    if type(value) is not str:
        raise TypeError
    return value


def _number(value: Any) -> float:
    if type(value) is not float and type(value) is not int:
        raise TypeError
    if not isfinite(value):
        raise ValueError
    return value


def _measure(value: Any) -> float:
    number = _number(value)
    if number <= 0:
        raise ValueError
    return number


def _flag(value: Any) -> bool:
    if value is not True and value is not False:
        raise TypeError
    return bool(value)


@lru_cache(maxsize=4096)  # the records of a round share their moments
def moment(value: Any) -> datetime:
    """An instant with its offset; raises TypeError or ValueError for anything else."""
    found = datetime.fromisoformat(value)
    if found.utcoffset() is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError
    return found


def _day(value: Any) -> date:
    day = date.fromisoformat(value)
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError
    return day


def _zone(value: Any) -> str:
    try:
        ZoneInfo(value)
    except (KeyError, OSError) as error:
        raise ValueError from error
    return _text(value)


def _pattern(pattern: re.Pattern[str]) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not pattern.fullmatch(value):
            raise ValueError
        return _text(value)

    return read


def _celsius(value: Any) -> float | tuple[float, ...]:
    """One temperature of a constant, or the list of a logger."""
    if type(value) is not list:
        return _number(value)
    if not set(map(type, value)) <= {int, float}:
        raise TypeError
    if not all(map(isfinite, value)):
        raise ValueError
    return tuple(value)


def _seconds(value: Any) -> tuple[int, ...]:
    if type(value) is not list or not value or set(map(type, value)) != {int}:
        raise TypeError
    if value != sorted(value):
        raise ValueError
    return tuple(value)


def _species(value: Any) -> Profile:
    try:
        profile = Profile.from_dict(value)
    except ProfileError:
        raise TypeError from None
    problem = shape_problem(profile, value)
    if problem:
        raise Misfit(f"is not a species profile: {problem}")
    return profile


def field(name: str, value: Any) -> Any:
    """The value of a field as a record holds it; raises TypeError or ValueError."""
    read, _ = _READERS[name]
    return read(value)


def marks(value: Any) -> tuple[Mark, ...]:
    """The marks of a record that was struck out or taken back; raises TypeError or ValueError."""
    if type(value) is not list or not value:
        raise TypeError
    return tuple(_made(Mark, each) for each in value)


_A_TEXT = (_text, "a text")
_A_NUMBER = (_number, "a finite number")
_A_FLAG = (_flag, "true or false")
_A_MOMENT = (moment, f"a time with its offset, {FIRST_YEAR} to {LAST_YEAR}")
_A_DAY = (_day, f"a date, {FIRST_YEAR} to {LAST_YEAR}")

_OF_KIND: dict[Kind, tuple[Callable[[Any], Any], str]] = {
    Kind.CODE: _A_TEXT,
    Kind.WORD: _A_TEXT,
    Kind.TEXT: _A_TEXT,
    Kind.MOMENT: _A_MOMENT,
    Kind.FLAG: _A_FLAG,
    Kind.MEASURE: (_measure, "a number above zero"),
}

_READERS: dict[str, tuple[Callable[[Any], Any], str]] = {
    **{each.name: _OF_KIND[each.kind] for each in FIELDS},
    **dict.fromkeys(("place", "food", "container", "clutch", "source", "because"), _A_TEXT),
    **dict.fromkeys(("min_c", "max_c", "planned_celsius"), _A_NUMBER),
    **dict.fromkeys(("same", "invented"), _A_FLAG),
    **dict.fromkeys(("entered", "entered_at", "started", "created"), _A_MOMENT),
    **dict.fromkeys(("laid_after", "laid_by"), _A_MOMENT),
    **dict.fromkeys(("date", "first", "last"), _A_DAY),
    "code": (_pattern(CODE), "a code of letters, digits and _"),
    "name": (_pattern(NAME), "a name of letters, digits, - and _"),
    "zone": (_zone, "a time zone"),
    "check_time": (_pattern(_CLOCK), "a time of day, HH:MM"),
    "species": (_species, "a species profile"),
    "marks": (marks, "a list of marks"),
    "back": _A_FLAG,
    "seconds": (_seconds, "a list of whole numbers in order"),
    "celsius": (_celsius, "finite numbers"),
}
