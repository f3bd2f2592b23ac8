"""Whether the profile in a cohort file has the shape that everything else relies on.

`rearlog.species` checks the profiles that people write; this checks only that the copy in a file
holds values of the right kinds, so that a file from elsewhere cannot upset a computation.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import cache
from math import isfinite
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from rearlog.records.profile import FATES, Profile, Quantity


def shape_problem(profile: Profile) -> str | None:
    """The first thing that is wrong with a profile's shape, in words; None where nothing is."""
    try:
        _check(Profile, profile, "")
        _check_stages(profile)
    except _Misshapen as error:
        return str(error)
    return None


class _Misshapen(Exception):
    pass


def _check_stages(profile: Profile) -> None:
    if not profile.stages:
        raise _Misshapen("it has no stages")
    if len(set(profile.codes)) < len(profile.codes):
        raise _Misshapen("a stage is there twice")
    reserved = {*FATES, "same"} & {code.lower() for code in profile.codes}
    if reserved:
        raise _Misshapen(f"{reserved.pop()} is no code for a stage")


def _check(kind: Any, value: Any, place: str) -> None:
    """Raise _Misshapen unless the value is of the kind that a field's annotation names."""
    choices = get_args(kind) if isinstance(kind, UnionType) else (kind,)
    if value is None and type(None) in choices:
        return
    kind = choices[0]
    holds_fields = is_dataclass(kind)
    if holds_fields:
        for name, inner in _hints(kind).items():
            _check(inner, getattr(value, name), f"{place} {name}".lstrip())
        if isinstance(value, Quantity) and None in (value.value, value.low, value.high):
            _check_known(value, place)
    elif get_origin(kind) is tuple:
        for each in value:
            _check(get_args(kind)[0], each, place)
    elif get_origin(kind) is dict:
        for name, each in value.items():
            _check(get_args(kind)[1], each, f"{place} {name}")
    elif kind is float:
        if type(value) not in (int, float) or not isfinite(value):
            raise _Misshapen(f"{place} is not a number")
    elif type(value) is not kind:
        raise _Misshapen(f"{place} is not {'a text' if kind is str else 'true or false'}")


def _check_known(quantity: Quantity, place: str) -> None:
    if quantity.value is None and (quantity.low is None or quantity.high is None):
        raise _Misshapen(f"{place} holds no value")


@cache
def _hints(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {each.name: hints[each.name] for each in fields(kind)}
