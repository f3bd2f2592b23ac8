"""Logs less all that may tell who somebody is, and a list of what was done to which field."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.columns import columns_of
from rearlog.records.factors import origin
from rearlog.records.fields import TEXTS
from rearlog.records.log import Cohort, CohortLog, Individual

CLEARED = ("site", "latitude", "longitude", "place", "source", *TEXTS)
"""Fields in which anybody may write anything, by their columns: who looked, where, and what killed
one in somebody's words; the files of loggers are often called after people."""

_NO_TEXTS: dict[str, Any] = dict.fromkeys(TEXTS)
_NO_NAME = re.compile(r"[A-Za-z]?[0-9]{1,9}|[A-Za-z]")
"""A code that names nobody: a number, a letter, or a letter and a number."""


class Treatment(StrEnum):
    """What becomes of a field."""

    LEFT_OUT = "left out"
    REPLACED = "replaced"
    KEPT = "kept"


class Treated(Struct, frozen=True):
    """One field, what becomes of it, and its different values in the logs, in order."""

    field: str
    treatment: Treatment
    values: tuple[str, ...]


def nameless(log: CohortLog) -> CohortLog:
    """The log without the fields of CLEARED.

    Codes that may be names become numbers that nobody else has, in the order of entry; so do all
    clutches and containers, since answers depend on who shares one. Of a cohort that it comes from,
    codes of which one may be a name are left out: which numbers they became is not known here. No
    look names its picture. What was struck out is gone altogether, with the reasons why.
    """
    codes = _codes(log.individuals)
    clutches = _numbered(each.clutch for each in log.individuals)
    containers = _numbered(each.container for each in log.individuals)
    return CohortLog(
        nameless_cohort(log.cohort),
        tuple(
            replace(
                each,
                code=codes[each.code],
                clutch=clutches.get(each.clutch or ""),
                container=containers.get(each.container or ""),
                note=None,
            )
            for each in log.individuals
        ),
        tuple(
            replace(each, individual=codes[each.individual], photo=None, **_NO_TEXTS)
            for each in log.observations
        ),
        tuple(replace(each, source=None) for each in log.temperatures),
    )


def nameless_cohort(cohort: Cohort) -> Cohort:
    """The cohort without the fields of CLEARED, and without names in what it comes from."""
    return replace(
        cohort,
        site=None,
        latitude=None,
        longitude=None,
        place=None,
        origins=tuple(map(_without_names, cohort.origins)),
    )


def _without_names(text: str) -> str:
    """An origin; without its codes where one of them may be a name."""
    cohort, codes = origin(text)
    return text if all(map(_NO_NAME.fullmatch, codes)) else cohort


def _codes(individuals: Sequence[Individual]) -> dict[str, str]:
    """The new code of each; those that name nobody stay."""
    found = {each.code: each.code for each in individuals if _NO_NAME.fullmatch(each.code)}
    taken = {code.casefold() for code in found}
    free = (str(number) for number in range(1, 2 * len(individuals) + 1))
    unused = (code for code in free if code not in taken)
    return {
        each.code: found[each.code] if each.code in found else next(unused) for each in individuals
    }


def _numbered(values: Iterable[str | None]) -> dict[str, str]:
    distinct = dict.fromkeys(value for value in values if value)
    return {value: str(number) for number, value in enumerate(distinct, start=1)}


def treated(
    values: Mapping[str, tuple[str, ...]], *, names: bool, notes: bool, blurred: bool = False
) -> list[Treated]:
    """What becomes of every field that may name somebody, and has `values` (see `values_of`).

    Coordinates that are `blurred` are replaced.
    """
    kept = () if names else CLEARED
    if not notes:
        kept = (*kept, "note")
    found = [
        Treated(
            name,
            Treatment.REPLACED
            if blurred and name in ("latitude", "longitude")
            else Treatment.LEFT_OUT
            if name in kept
            else Treatment.KEPT,
            told,
        )
        for name, told in values.items()
        if told
    ]
    return found if names else _with_replaced(found)


def _with_replaced(found: Iterable[Treated]) -> list[Treated]:
    every: list[Treated] = []
    for each in found:
        if each.field in ("clutch", "container"):
            every.append(replace(each, treatment=Treatment.REPLACED))
        elif each.field == "origins":
            texts = dict.fromkeys(map(_without_names, each.values))
            every.append(replace(each, values=tuple(texts)))
            named = tuple(text for text in each.values if text not in texts)
            every += [Treated("codes of origins", Treatment.LEFT_OUT, named)] if named else []
        elif each.field == "code":
            names = tuple(code for code in each.values if not _NO_NAME.fullmatch(code))
            codes = tuple(code for code in each.values if _NO_NAME.fullmatch(code))
            every += [Treated("code", Treatment.REPLACED, names)] if names else []
            every += [Treated("code", Treatment.KEPT, codes)] if codes else []
        else:
            every.append(each)
    return every


def values_of(log: CohortLog) -> dict[str, tuple[str, ...]]:
    """The different values of each field that may name somebody, by its column."""
    cohort, checks = log.cohort, columns_of(log)
    notes = *(each.note for each in log.individuals), *checks["note"].distinct
    return {
        "by": _distinct(checks["by"].distinct),
        "note": _distinct(notes),
        "cause": _distinct(checks["cause"].distinct),
        "site": _distinct([cohort.site]),
        "latitude": _distinct([_text(cohort.latitude)]),
        "longitude": _distinct([_text(cohort.longitude)]),
        "place": _distinct([cohort.place]),
        "container": _distinct(each.container for each in log.individuals),
        "source": _distinct(each.source for each in log.temperatures),
        "clutch": _distinct(each.clutch for each in log.individuals),
        "code": _distinct(each.code for each in log.individuals),
        "cohort": (cohort.name,),
        "food": _distinct([cohort.food]),
        "factors": _distinct(cohort.factors.values()),
        "origins": _distinct(cohort.origins),
        "zone": (cohort.zone,),
        "species profile": (cohort.species.id,),
    }


def _distinct(values: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(value for value in values if value))


def _text(number: float | None) -> str | None:
    return None if number is None else str(number)
