"""Records as TinyDB documents and back. Fields that are unknown are left out of the document."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, datetime
from typing import Any

from rearlog.records.log import (
    Cohort,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Observation,
    Readings,
    Struck,
    Temperature,
)
from rearlog.records.profile import Profile

Document = dict[str, Any]

_MOMENTS = ("at", "entered", "entered_at", "laid_after", "laid_by", "started", "created")
_DATES = ("date", "first", "last")
_KINDS: dict[str, type[Temperature]] = {
    "day": DayExtremes,
    "constant": ConstantTemperature,
    "readings": Readings,
}
_KIND_OF = {record: kind for kind, record in _KINDS.items()}


def to_document(record: Observation | Individual | Temperature | Cohort) -> Document:
    """A record as a document of plain JSON values."""
    document: Document = {}
    if isinstance(record, DayExtremes | ConstantTemperature | Readings):
        document["kind"] = _KIND_OF[type(record)]
    for each in fields(record):
        value = getattr(record, each.name)
        if value is None or value is False or each.name == "number":
            continue
        document[each.name] = _plain(value)
    return document


def _plain(value: Any) -> Any:
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    if isinstance(value, Struck):
        return struck_document(value)
    if isinstance(value, Profile):
        return value.to_dict()
    return list(value) if isinstance(value, tuple) else value


def struck_document(struck: Struck) -> Document:
    """That a record was struck, as a document."""
    document = {"at": struck.at.isoformat(), "because": struck.because}
    return document | {"by": struck.by} if struck.by else document


def observation(document: Document, number: int) -> Observation:
    """The observation in a document, with its number in the file."""
    return Observation(number=number, **_decoded(document))


def individual(document: Document) -> Individual:
    """The individual in a document."""
    return Individual(**_decoded(document))


def temperature(document: Document, number: int) -> Temperature:
    """The temperature record in a document, with its number in the file."""
    rest = dict(document)
    kind = rest.pop("kind")
    if kind == "readings":
        rest["seconds"], rest["celsius"] = tuple(rest["seconds"]), tuple(rest["celsius"])
    return _KINDS[kind](number=number, **_decoded(rest))


def cohort(document: Document) -> Cohort:
    """The cohort in a document."""
    rest = dict(document)
    species = Profile.from_dict(rest.pop("species"))
    return Cohort(species=species, **_decoded(rest))


def _decoded(document: Document) -> Document:
    values = dict(document)
    for name in _MOMENTS:
        if name in values:
            values[name] = datetime.fromisoformat(values[name])
    for name in _DATES:
        if name in values:
            values[name] = date.fromisoformat(values[name])
    if "struck" in values:
        struck = dict(values["struck"])
        values["struck"] = Struck(at=datetime.fromisoformat(struck.pop("at")), **struck)
    return values
