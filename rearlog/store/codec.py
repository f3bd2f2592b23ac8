"""Records as TinyDB documents and back. Fields that are unknown are left out of the document.

Reading is strict: a value of the wrong kind, a field too many or one too few is a Misfit. What a
document may hold is said as types, by which `msgspec` reads a whole file in less time than parsing
it alone would take; records are made of what it read.
"""

from __future__ import annotations

import marshal
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, timedelta
from functools import lru_cache
from operator import attrgetter
from reprlib import repr as brief
from typing import Annotated, Any, TypeVar, cast
from zoneinfo import ZoneInfo

import msgspec
from msgspec import NODEFAULT, Meta, Raw
from msgspec.structs import FieldInfo, fields

from rearlog.records.clock import YEARS
from rearlog.records.errors import ProfileError, RecordError
from rearlog.records.factors import FACTOR, LEVEL, ORIGIN
from rearlog.records.fields import COUNTS, FIELDS, NAME, PHOTO, TOKEN, Kind
from rearlog.records.identity import ID
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
from rearlog.records.starting import NAME as COHORT_NAME
from rearlog.records.starting import SITE
from rearlog.records.typed_words import CODE
from rearlog.store.layout import Document, Tables

Record = Observation | Individual | Temperature | Cohort
R = TypeVar("R")

_THE_YEARS = f"{YEARS[0]} to {YEARS[-1]}"

LONGEST_NUMBER = 12
"""The most digits of a record's number."""


class Misfit(ValueError):
    """A document that is not a record: says which field, and what it should be."""


# What a document may hold.

_LARGEST = sys.float_info.max  # neither an infinity nor NaN
_Number = Annotated[float, Meta(ge=-_LARGEST, le=_LARGEST)]
_Measure = Annotated[float, Meta(gt=0, le=_LARGEST)]
_Count = Annotated[int, Meta(ge=0, le=max(int(each.most) for each in COUNTS))]
Moment = Annotated[datetime, Meta(tz=True)]
_Seconds = Annotated[tuple[int, ...], Meta(min_length=1)]


def _whole(pattern: str) -> Any:
    return Annotated[str, Meta(pattern=rf"^(?:{pattern})\Z")]


_NAME = _whole(NAME.pattern)
_OF_KIND: dict[Kind, Any] = {
    **dict.fromkeys((Kind.CODE, Kind.WORD, Kind.TEXT), str),
    Kind.MOMENT: Moment,
    Kind.FLAG: bool,
    Kind.MEASURE: _Measure,
    Kind.COUNT: _Count,
    Kind.NAME: _NAME,
}
_TYPES: dict[str, Any] = {
    **{each.name: _OF_KIND[each.kind] for each in FIELDS},
    **dict.fromkeys(("place", "food", "container", "clutch", "source", "because"), str),
    **dict.fromkeys(("min_c", "max_c", "celsius", "planned_celsius"), _Number),
    "invented": bool,
    **dict.fromkeys(("entered", "entered_at", "started", "created"), Moment),
    **dict.fromkeys(("laid_after", "laid_by"), Moment),
    **dict.fromkeys(("date", "first", "last"), date),
    "code": _whole(CODE.pattern),
    "id": _whole(ID.pattern),
    "name": _whole(COHORT_NAME.pattern),
    "site": _whole(SITE.pattern),
    "latitude": Annotated[float, Meta(ge=-90, le=90)],
    "longitude": Annotated[float, Meta(ge=-180, le=180)],
    "zone": str,
    "check_time": _whole(r"([01]\d|2[0-3]):[0-5]\d"),
    "species": dict[str, Any],
    "seconds": _Seconds,
    "token": _whole(TOKEN.pattern),
    "photo": _whole(PHOTO.pattern),
    "marks": Annotated[tuple[Mark, ...], Meta(min_length=1)],
    "factors": dict.__class_getitem__((_whole(FACTOR.pattern), _whole(LEVEL.pattern))),
    "origins": tuple.__class_getitem__((_whole(ORIGIN.pattern), ...)),
}
"""The type of each field, wherever it stands."""


def _document_of(record: type[Any], tag: str | None = None, **others: Any) -> Any:
    """The type of the documents of a kind of record."""
    types = _TYPES | others
    known: list[Any] = []
    for each in fields(record):
        if each.name == "number":
            continue
        of = types[each.name]
        default = _default_of(each)
        if each.required or each.name == "id":
            known.append((each.name, of))
        else:  # null stands for what is unknown, not for what has another default
            known.append((each.name, of | None if default is None else of, default))
    return msgspec.defstruct(
        record.__name__,
        known,
        frozen=True,
        forbid_unknown_fields=True,
        gc=False,
        kw_only=True,
        tag=tag,
        tag_field="kind" if tag else None,
    )


def _default_of(field: FieldInfo) -> Any:
    made = field.default_factory
    return field.default if made is NODEFAULT else made()


_OBSERVATION = _document_of(Observation)
_INDIVIDUAL = _document_of(Individual)
_COHORT = _document_of(Cohort)
_KINDS: dict[str, tuple[type[Temperature], Any]] = {
    "day": (DayExtremes, _document_of(DayExtremes, "day")),
    "constant": (
        ConstantTemperature,
        _document_of(ConstantTemperature, "constant"),
    ),
    "readings": (
        Readings,
        _document_of(Readings, "readings", celsius=tuple[_Number, ...]),
    ),
}
_KIND_OF = {record: kind for kind, (record, _) in _KINDS.items()}
_TEMPERATURE: Any = _KINDS["day"][1] | _KINDS["constant"][1] | _KINDS["readings"][1]
_RECORDS: dict[type[Any], type[Any]] = {
    **{document: record for record, document in _KINDS.values()},
    **{_OBSERVATION: Observation, _INDIVIDUAL: Individual, _COHORT: Cohort},
}
_TIMES: dict[type[Any], tuple[str, ...]] = {
    document: tuple(each for each in record.__struct_fields__ if _TYPES.get(each) in (Moment, date))
    for document, record in _RECORDS.items()
}


def _table_of(document: Any) -> Any:
    return dict.__class_getitem__((str, document))


def _file_of(temperatures: Any) -> Any:
    return msgspec.defstruct(
        "File",
        [
            ("cohort", _table_of(_COHORT), {}),
            ("individuals", _table_of(_INDIVIDUAL), {}),
            ("observations", _table_of(_OBSERVATION), {}),
            ("temperatures", temperatures, {}),
        ],
    )


_WHOLE_FILE, _WITHOUT_TEMPERATURES = _file_of(_table_of(_TEMPERATURE)), _file_of(Raw | dict)
_LAID_OUT = [msgspec.json.Decoder(each) for each in (_WHOLE_FILE, _WITHOUT_TEMPERATURES)]
"""Lets msgspec lay out all these types now: two threads that are the first to need one would find
it half laid out, and the program would be killed for it."""


# From documents to records.


def file_in(content: bytes | Tables, *, temperatures: bool = True) -> Any:
    """The documents of a whole file, given as bytes or as tables: each table by its name.

    Raises Misfit where anything in it is not as it should be, without saying what.
    """
    kind = _WHOLE_FILE if temperatures else _WITHOUT_TEMPERATURES
    try:
        if isinstance(content, bytes):
            found = msgspec.json.decode(content, type=kind)
        else:
            found = msgspec.convert(content, kind)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, OverflowError) as error:
        raise Misfit(str(error)) from None
    checks = found.observations.values()
    refuse_years(map(attrgetter("at.year"), checks))
    refuse_years([each.year for each in map(attrgetter("entered"), checks) if each is not None])
    for each in filter(None, map(attrgetter("marks"), checks)):
        _refuse_marks(each)
    return found


def refuse_years(years: Iterable[int]) -> None:
    """Raise Misfit unless all of them are years that a record may be of."""
    if not all(year in YEARS for year in set(years)):
        raise Misfit(f"a year is not one of {_THE_YEARS}")


def _refuse_marks(marks: Iterable[Mark]) -> None:
    for each in marks:
        if each.at.utcoffset() is None or each.at.year not in YEARS:
            raise Misfit(f"marks at is not {_A_MOMENT}: {each.at}")


def moment(value: object) -> datetime:
    """An instant with its offset; raises Misfit for anything else."""
    try:
        found: datetime = msgspec.convert(value, Moment)
    except msgspec.ValidationError:
        raise Misfit(f"this is not {_A_MOMENT}: {brief(value)}") from None
    refuse_years([found.year])
    return found


def record_of(document: Any, number: int) -> Any:
    """The record that a document of `file_in` holds; raises Misfit for what its type cannot say."""
    values = {name: getattr(document, name) for name in document.__struct_fields__}
    for name in _TIMES[type(document)]:
        if (time := values[name]) is not None and time.year not in YEARS:
            raise Misfit(f"{name} is not {_wanted(name)}: {time}")
    _refuse_marks(values.get("marks", ()))
    kind = _RECORDS[type(document)]
    if kind is Cohort:
        if (values["latitude"] is None) != (values["longitude"] is None):
            raise Misfit("latitude and longitude go together")
        values |= {"zone": _zone(values["zone"]), "species": _species(values["species"])}
    if kind is Readings:
        _refuse_run(values["at"], values["seconds"], values["celsius"])
    return kind(**values, **({} if kind in (Cohort, Individual) else {"number": number}))


def _refuse_run(at: datetime, seconds: tuple[int, ...], celsius: tuple[float, ...]) -> None:
    if list(seconds) != sorted(seconds):
        raise Misfit(f"seconds is not {_wanted('seconds')}: {brief(seconds)}")
    if len(seconds) != len(celsius):
        raise Misfit(f"{len(seconds)} times and {len(celsius)} temperatures")
    try:
        refuse_years((at + timedelta(seconds=each)).year for each in (seconds[0], seconds[-1]))
    except (OverflowError, Misfit):
        raise Misfit(f"its readings leave the years {_THE_YEARS}") from None


def _zone(value: str) -> str:
    try:
        ZoneInfo(value)
    except (KeyError, OSError, ValueError):
        raise Misfit(f"zone is not {_wanted('zone')}: {brief(value)}") from None
    return value


def _species(value: Document) -> Profile:
    try:
        return _profile_in(marshal.dumps(value, _WITHOUT_REFERENCES))
    except ProfileError as error:
        told = error.problems[0].message.partition(": ")[2]
        raise Misfit(f"species is not a species profile: {told}") from None


_WITHOUT_REFERENCES = 2
"""A version of marshal that writes the same bytes for the same values."""


@lru_cache(maxsize=64)
def _profile_in(values: bytes) -> Profile:
    """The profile in plain values; checked once, as it is the same in each state of a file."""
    return Profile.from_dict(marshal.loads(values))


def observation(document: object, number: int) -> Observation:
    """The observation in a document, with its number in the file; raises Misfit."""
    return cast(Observation, record_of(_typed(document, _OBSERVATION), number))


def individual(document: object, number: int) -> Individual:
    """The individual in a document; raises Misfit."""
    return cast(Individual, record_of(_typed(document, _INDIVIDUAL), number))


def temperature(document: object, number: int) -> Temperature:
    """The temperature record in a document, with its number in the file; raises Misfit."""
    kind = document.get("kind") if isinstance(document, dict) else None
    if not isinstance(kind, str) or kind not in _KINDS:
        raise Misfit(f"kind is not one of {', '.join(_KINDS)}")
    return cast(Temperature, record_of(_typed(document, _KINDS[kind][1]), number))


def cohort(document: object, number: int) -> Cohort:
    """The cohort in a document; raises Misfit."""
    return cast(Cohort, record_of(_typed(document, _COHORT), number))


_A_MOMENT = f"a time with its offset, {_THE_YEARS}"
_PLACE = re.compile(r"(?P<what>.*?)(?: - at (?:`key` in )?`\$(?P<path>.*)`)?", re.S)
_NAMED = re.compile(r"Object (?P<fault>missing|contains unknown)[^`]*`(?P<name>.*)`", re.S)
_WORDS: dict[Any, str] = {
    str: "a text",
    bool: "true or false",
    _Number: "a finite number",
    date: f"a date, {_THE_YEARS}",
    Moment: _A_MOMENT,
    _Measure: "a number above zero",
    _Count: "a whole number from 0 on",
    _NAME: "a code, or a name of a cage",
}
_WANTED = {
    "code": "a code of letters, digits and _",
    "id": "a UUID in lower case",
    "site": "a short text without ; and :",
    "latitude": "degrees from -90 to 90",
    "longitude": "degrees from -180 to 180",
    "name": "a name of letters, digits, - and _",
    "zone": "a time zone",
    "check_time": "a time of day, HH:MM",
    "species": "a species profile",
    "marks": "a list of marks",
    "seconds": "a list of whole numbers in order",
    "token": "8 to 64 letters, digits, - and _",
    "photo": "64 digits of a SHA-256",
    "celsius": "finite numbers",
    "factors": "levels by the names of factors",
    "origins": "a list of cohorts, each with codes or without",
}


def _wanted(name: str) -> str:
    return _WANTED.get(name) or _WORDS.get(_TYPES.get(name), "as it should be")


def _typed(document: object, kind: Any) -> Any:
    """A document as its type; raises Misfit with what is wrong, and in which field."""
    if not isinstance(document, dict):
        raise Misfit(f"this is not a record: {brief(document)}")
    try:
        return msgspec.convert(document, kind)
    except (msgspec.ValidationError, OverflowError, RecursionError) as error:
        raise Misfit(_told(str(error), document)) from None


def _told(error: str, document: Document) -> str:
    """What `msgspec` found, in our words."""
    match = _PLACE.fullmatch(error)
    assert match is not None
    place = re.sub(r"\[.*?\]", "", match["path"] or "").lstrip(".").replace(".", " ")
    if named := _NAMED.fullmatch(match["what"]):
        if named["fault"] == "contains unknown":
            return f"there is no field “{named['name'][:40]}”"
        return f"{place} {named['name']} is missing".strip()
    name, _, inner = place.partition(" ")
    if inner:
        return f"{place} is not {_wanted(inner)}"
    if (
        name == "celsius"
        and "kind" in document
        and isinstance(document[name], list) != (document["kind"] == "readings")
    ):
        return f"celsius does not suit the kind {document['kind']}"
    return f"{name} is not {_wanted(name)}: {brief(document.get(name))}"


# From records to documents.


def to_document(record: Record) -> Document:
    """A record as a document of plain JSON values.

    Raises RecordError where it could not be read again.
    """
    document: Document = {}
    if isinstance(record, DayExtremes | ConstantTemperature | Readings):
        document["kind"] = _KIND_OF[type(record)]
    for name in record.__struct_fields__:
        value = getattr(record, name)
        if value is None or value is False or value in ((), {}) or name == "number":
            continue
        document[name] = _plain(value)
    try:
        msgspec.json.encode(document)
        _READERS[type(record)](document, 1)
    except Misfit as error:
        raise RecordError(f"this cannot be written down: {error}") from None
    except UnicodeEncodeError:
        remedy = "use a terminal or a file in UTF-8"
        raise RecordError("this cannot be written down: it holds broken letters", remedy) from None
    return document


_READERS: dict[type[Any], Callable[[Document, int], Record]] = {
    **dict.fromkeys(_KIND_OF, temperature),
    **{Observation: observation, Individual: individual, Cohort: cohort},
}


def _plain(value: Any) -> Any:
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    if isinstance(value, Mark):
        return _mark_document(value)
    if isinstance(value, Profile):
        return value.to_dict()
    if isinstance(value, Mapping):
        return dict(value)
    return [*map(_plain, value)] if isinstance(value, tuple) else value


def marked_document(document: Document, marks: Iterable[Mark]) -> Document:
    """The document of a record, with these marks in place of those that it has."""
    return document | {"marks": list(map(_mark_document, marks))}


def _mark_document(mark: Mark) -> Document:
    document: Document = {"at": mark.at.isoformat(), "because": mark.because}
    document |= {"by": mark.by} if mark.by else {}
    return document | {"back": True} if mark.back else document
