"""Logs less all that may tell who somebody is, and a list of what was done to which field."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from rearlog.records.factors import origin
from rearlog.records.log import CohortLog, Individual, Temperature

CLEARED = ("site", "latitude", "longitude", "place", "cause", "source", "by", "note")
"""Fields in which anybody may write anything, by their columns: who looked, where, and what killed
one in somebody's words; the files of loggers are often called after people."""

_NO_NAME = re.compile(r"[A-Za-z]?[0-9]{1,9}|[A-Za-z]")
"""A code that names nobody: a number, a letter, or a letter and a number."""


class Treatment(StrEnum):
    """What becomes of a field."""

    LEFT_OUT = "left out"
    REPLACED = "replaced"
    KEPT = "kept"


@dataclass(frozen=True, slots=True)
class Treated:
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
        replace(
            log.cohort,
            site=None,
            latitude=None,
            longitude=None,
            place=None,
            origins=tuple(map(_without_names, log.cohort.origins)),
        ),
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
            replace(
                each, individual=codes[each.individual], cause=None, by=None, note=None, photo=None
            )
            for each in log.all_observations
            if each.struck is None
        ),
        tuple(replace(each, source=None) for each in log.temperatures),
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
    logs: Sequence[CohortLog], *, names: bool, notes: bool, blurred: bool = False
) -> list[Treated]:
    """What becomes of every field that may name somebody, and has a value in the logs.

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
            values,
        )
        for name, values in _values(logs).items()
        if values
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


def _values(logs: Sequence[CohortLog]) -> Mapping[str, tuple[str, ...]]:
    """The different values of each field that may name somebody, by its column."""
    individuals = [each for log in logs for each in log.individuals]
    checks = [each for log in logs for each in log.all_observations if each.struck is None]
    temperatures: list[Temperature] = [each for log in logs for each in log.temperatures]
    cohorts = [log.cohort for log in logs]
    return {
        "by": _distinct(checks, "by"),
        "note": (*dict.fromkeys((*_distinct(individuals, "note"), *_distinct(checks, "note"))),),
        "cause": _distinct(checks, "cause"),
        "site": _distinct(cohorts, "site"),
        "latitude": tuple(str(each.latitude) for each in cohorts if each.latitude is not None),
        "longitude": tuple(str(each.longitude) for each in cohorts if each.longitude is not None),
        "place": _distinct(cohorts, "place"),
        "container": _distinct(individuals, "container"),
        "source": _distinct(temperatures, "source"),
        "clutch": _distinct(individuals, "clutch"),
        "code": _distinct(individuals, "code"),
        "cohort": _distinct(cohorts, "name"),
        "food": _distinct(cohorts, "food"),
        "factors": _distinct_texts(each.factors.values() for each in cohorts),
        "origins": _distinct_texts(each.origins for each in cohorts),
        "zone": _distinct(cohorts, "zone"),
        "species profile": tuple(dict.fromkeys(each.species.id for each in cohorts)),
    }


def _distinct(records: Iterable[Any], name: str) -> tuple[str, ...]:
    values = (getattr(each, name) for each in records)
    return tuple(dict.fromkeys(value for value in values if value))


def _distinct_texts(groups: Iterable[Iterable[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for texts in groups for text in texts))
