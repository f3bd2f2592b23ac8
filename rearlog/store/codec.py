"""Records as TinyDB documents and back. Fields that are unknown are left out of the document.

Reading is strict: a value of the wrong kind, a field too many or one too few is a Misfit. What a
document may hold is what the types of the record's fields say (`records/values.py`): by them
`msgspec` makes records of a whole file in less time than parsing it alone would take.
"""

from __future__ import annotations

import marshal
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, timedelta
from functools import lru_cache
from operator import attrgetter
from reprlib import repr as brief
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import msgspec
from msgspec import Raw
from msgspec.structs import force_setattr

from rearlog.records.clock import YEARS
from rearlog.records.errors import ProfileError, RecordError
from rearlog.records.fields import FIELDS, Kind, NumberedRecord
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
from rearlog.records.values import MOST_COUNTED, Moment
from rearlog.store.layout import Document, Tables

Record = Observation | Individual | Temperature | Cohort
R = TypeVar("R", bound=Record)
W = TypeVar("W", bound=NumberedRecord)

_THE_YEARS = f"{YEARS[0]} to {YEARS[-1]}"

LONGEST_NUMBER = 12
"""The most digits of a record's number."""


class Misfit(ValueError):
    """A document that is not a record: says which field, and what it should be."""


def _file_of(temperatures: Any) -> Any:
    return msgspec.defstruct(
        "File",
        [
            ("cohort", dict[str, Any], {}),  # whose profile is checked once: see below
            ("individuals", dict[str, Individual], {}),
            ("observations", dict[str, Observation], {}),
            ("temperatures", temperatures, {}),
        ],
    )


_WHOLE_FILE, _WITHOUT_TEMPERATURES = _file_of(dict[str, Temperature]), _file_of(Raw | dict)
_LAID_OUT = [msgspec.json.Decoder(each) for each in (_WHOLE_FILE, _WITHOUT_TEMPERATURES, Cohort)]
"""Lets msgspec lay out all these types now: two threads that are the first to need one would find
it half laid out, and the program would be killed for it. So each type by which something is read
has its decoder where it is made."""


# From documents to records.


def file_in(content: bytes | Tables, *, temperatures: bool = True) -> Any:
    """The records of a whole file, given as bytes or as tables: each table by its name, the cohort
    as its document. None of them has its number yet, and but for the checks they are not `sound`.

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
        if each.at.year not in YEARS:
            raise Misfit(f"marks at is not {_A_MOMENT}: {each.at}")


def moment(value: object) -> datetime:
    """An instant with its offset; raises Misfit for anything else."""
    try:
        found: datetime = msgspec.convert(value, Moment)
    except msgspec.ValidationError:
        raise Misfit(f"this is not {_A_MOMENT}: {brief(value)}") from None
    refuse_years([found.year])
    return found


def numbered(record: W, number: int) -> W:
    """A record that was just read, which from now on knows its number in the file."""
    force_setattr(record, "number", number)
    return record


def sound(record: R) -> R:
    """A record that was just read; raises Misfit for what its type cannot say."""
    for name in record.__struct_fields__:
        value = getattr(record, name)
        if isinstance(value, date) and value.year not in YEARS:  # a datetime is one too
            raise Misfit(f"{name} is not {_wanted(name)}: {value}")
    if isinstance(record, Cohort):
        if (record.latitude is None) != (record.longitude is None):
            raise Misfit("latitude and longitude go together")
        _refuse_zone(record.zone)
        return record
    _refuse_marks(record.marks)
    if isinstance(record, Readings):
        _refuse_run(record.at, record.seconds, record.celsius)
    return record


def _refuse_run(at: datetime, seconds: tuple[int, ...], celsius: tuple[float, ...]) -> None:
    if list(seconds) != sorted(seconds):
        raise Misfit(f"seconds is not {_wanted('seconds')}: {brief(seconds)}")
    if len(seconds) != len(celsius):
        raise Misfit(f"{len(seconds)} times and {len(celsius)} temperatures")
    try:
        refuse_years((at + timedelta(seconds=each)).year for each in (seconds[0], seconds[-1]))
    except (OverflowError, Misfit):
        raise Misfit(f"its readings leave the years {_THE_YEARS}") from None


def _refuse_zone(value: str) -> None:
    try:
        ZoneInfo(value)
    except (KeyError, OSError, ValueError):
        raise Misfit(f"zone is not {_wanted('zone')}: {brief(value)}") from None


def _species(value: Any) -> Profile:
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
    return numbered(sound(_typed(document, Observation)), number)


def individual(document: object, _number: int) -> Individual:
    """The individual in a document; raises Misfit."""
    return sound(_typed(document, Individual))


_KINDS: dict[Any, type[Temperature]] = {
    each.__struct_config__.tag: each for each in (DayExtremes, ConstantTemperature, Readings)
}


def temperature(document: object, number: int) -> Temperature:
    """The temperature record in a document, with its number in the file; raises Misfit."""
    kind = _fields_in(document).get("kind")
    if not isinstance(kind, str) or kind not in _KINDS:
        raise Misfit(f"kind is not one of {', '.join(_KINDS)}")
    return numbered(sound(_typed(document, _KINDS[kind])), number)


def cohort(document: object, _number: int) -> Cohort:
    """The cohort in a document; raises Misfit."""
    told = _fields_in(document)
    if "id" not in told:  # an identity is made only for one that is new
        raise Misfit("id is missing")
    if "species" in told:
        told = told | {"species": _species(told["species"])}
    return sound(_typed(told, Cohort))


_A_MOMENT = f"a time with its offset, {_THE_YEARS}"
_PLACE = re.compile(r"(?P<what>.*?)(?: - at (?:`key` in )?`\$(?P<path>.*)`)?", re.S)
_NAMED = re.compile(r"Object (?P<fault>missing|contains unknown)[^`]*`(?P<name>.*)`", re.S)
_WORDS = {
    **dict.fromkeys((Kind.CODE, Kind.WORD, Kind.TEXT), "a text"),
    Kind.MOMENT: _A_MOMENT,
    Kind.FLAG: "true or false",
    Kind.MEASURE: "a number above zero",
    Kind.COUNT: f"a whole number from 0 to {MOST_COUNTED:,}",
    Kind.NAME: "a code, or a name of a cage",
}
_WANTED = {
    **{each.name: _WORDS[each.kind] for each in FIELDS},
    **dict.fromkeys(("place", "food", "container", "clutch", "source", "because"), "a text"),
    **dict.fromkeys(("min_c", "max_c", "planned_celsius"), "a finite number"),
    **dict.fromkeys(("entered", "entered_at", "laid_after", "laid_by"), _A_MOMENT),
    **dict.fromkeys(("started", "created"), _A_MOMENT),
    **dict.fromkeys(("date", "first", "last"), f"a date, {_THE_YEARS}"),
    **dict.fromkeys(("invented", "back"), "true or false"),
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
    return _WANTED.get(name, "as it should be")


def _fields_in(document: object) -> Document:
    """What a document says, by its fields; raises Misfit where it is none."""
    if not isinstance(document, dict):
        raise Misfit(f"this is not a record: {brief(document)}")
    return document


def _typed(document: object, kind: type[R]) -> R:
    """A document as its type; raises Misfit with what is wrong, and in which field."""
    told = _fields_in(document)
    try:
        return msgspec.convert(told, kind)
    except (msgspec.ValidationError, OverflowError, RecursionError) as error:
        raise Misfit(_told(str(error), told)) from None
    except UnicodeEncodeError:
        raise Misfit("it holds broken letters") from None


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
    kind = record.__struct_config__.tag
    document: Document = {"kind": kind} if kind else {}
    try:
        for name in record.__struct_fields__:
            value = getattr(record, name)
            if value is None or value is False or value in ((), {}) or name == "number":
                continue
            document[name] = _plain(value)
        msgspec.json.encode(document)
        _READERS[type(record)](document, 1)
    except Misfit as error:
        raise RecordError(f"this cannot be written down: {error}") from None
    except UnicodeEncodeError:
        remedy = "use a terminal or a file in UTF-8"
        raise RecordError("this cannot be written down: it holds broken letters", remedy) from None
    return document


_READERS: dict[type[Any], Callable[[Document, int], Record]] = {
    **dict.fromkeys(_KINDS.values(), temperature),
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
