"""Whether the profile in a cohort file has the shape that everything else relies on.

`rearlog.species` checks the profiles that people write; this checks only that the copy in a file
holds values of the right kinds, so that a file from elsewhere cannot upset a computation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from math import isfinite
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from rearlog.records.fates import FATES
from rearlog.records.profile import Profile, Quantity


def shape_problem(profile: Profile, document: Any) -> str | None:
    """The first thing that is wrong with a profile's shape, in words; None where nothing is.

    `document` is what the profile was read from.
    """
    try:
        _check_of(Profile)(profile, "")
        _check_stages(profile)
        _check_sources(profile, document)
    except _Misshapen as error:
        return str(error).strip()
    return None


class _Misshapen(Exception):
    pass


Check = Callable[[Any, str], None]
"""Raises _Misshapen for a value that is not of a kind; takes the value and its place."""


def _check_stages(profile: Profile) -> None:
    if not profile.stages:
        raise _Misshapen("it has no stages")
    if len(set(profile.codes)) < len(profile.codes):
        raise _Misshapen("a stage is there twice")
    reserved = {*FATES, "same"} & {code.lower() for code in profile.codes}
    if reserved:
        raise _Misshapen(f"{reserved.pop()} is no code for a stage")


def _check_sources(profile: Profile, document: Any) -> None:
    for source in _cited(document):
        if source not in profile.sources:
            raise _Misshapen(f"“{source[:40]}” is not among its sources")


def _cited(document: Any) -> Iterator[str]:
    """The keys of the sources that a document names, wherever in it."""
    if isinstance(document, dict):
        for name, value in document.items():
            if name in ("source", "spread_source") and isinstance(value, str):
                yield value
            else:
                yield from _cited(value)
    elif isinstance(document, list):
        for value in document:
            yield from _cited(value)


@cache
def _check_of(kind: Any) -> Check:
    """The check for the kind that a field's annotation names."""
    if isinstance(kind, UnionType):
        return _or_none(_check_of(get_args(kind)[0]))
    if is_dataclass(kind):
        return _fields(kind)
    if get_origin(kind) is tuple:
        return _every(_check_of(get_args(kind)[0]))
    if get_origin(kind) is dict:
        return _every_value(_check_of(get_args(kind)[1]))
    return _number if kind is float else _plain(kind)


def _or_none(check: Check) -> Check:
    def checked(value: Any, place: str) -> None:
        if value is not None:
            check(value, place)

    return checked


def _fields(kind: Any) -> Check:
    hints = get_type_hints(kind)
    checks = [(each.name, _check_of(hints[each.name])) for each in fields(kind)]

    def checked(value: Any, place: str) -> None:
        for name, check in checks:
            check(getattr(value, name), f"{place} {name}")
        if kind is Quantity and value.value is None and None in (value.low, value.high):
            raise _Misshapen(f"{place} holds no value")

    return checked


def _every(check: Check) -> Check:
    def checked(value: Any, place: str) -> None:
        for each in value:
            check(each, place)

    return checked


def _every_value(check: Check) -> Check:
    def checked(value: Any, place: str) -> None:
        for name, each in value.items():
            check(each, f"{place} {name}")

    return checked


def _number(value: Any, place: str) -> None:
    if type(value) not in (int, float) or not isfinite(value):
        raise _Misshapen(f"{place} is not a number")


def _plain(kind: type) -> Check:
    def checked(value: Any, place: str) -> None:
        if type(value) is not kind:
            raise _Misshapen(f"{place} is not {'a text' if kind is str else 'true or false'}")

    return checked
