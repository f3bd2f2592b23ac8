"""Reads plain tables, lists, texts and numbers into structs, and tells what does not fit.

The structs themselves say which keys there are, which may be left out, and what kind of value
each has. Whatever can be read is read, so that all mistakes are found in one go.
"""

from __future__ import annotations

import math
from functools import cache
from types import NoneType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

from msgspec import Struct
from msgspec.structs import fields

from rearlog.records.errors import Problem
from rearlog.records.profile import Quantity
from rearlog.records.suggestions import suggestion

_WORDS = {str: "a text in quotation marks", bool: "true or false", float: "a number"}
_CELSIUS = tuple[float, float]


def shaped(kind: Any, value: object, place: str, problems: list[Problem]) -> Any:
    """`value` as a `kind`: a struct, or one of the types that its fields may have.

    Appends to `problems`, at `place`, whatever does not fit. Returns None where nothing of the
    value can be used; in a struct, required fields that cannot be read are left empty.
    """
    kind = _without_none(kind)
    if isinstance(kind, type) and issubclass(kind, Struct):
        return _struct(kind, value, place, problems)
    if kind == _CELSIUS:
        return _celsius(value, place, problems)
    if get_origin(kind) is tuple:
        return _list(get_args(kind)[0], value, place, problems)
    if get_origin(kind) is dict:
        return _named_values(get_args(kind)[1], value, place, problems)
    if kind is float and not isinstance(value, bool) and isinstance(value, int | float):
        return _number(value, place, problems)
    if kind is not float and isinstance(value, kind):
        return value
    return _refuse(f"must be {_WORDS[kind]}", place, problems)


def _refuse(message: str, place: str, problems: list[Problem], remedy: str = "") -> Any:
    """Note a problem; returns None, which stands for a value that cannot be used."""
    problems.append(Problem(message, place, remedy))
    return None


def _without_none(kind: Any) -> Any:
    if isinstance(kind, UnionType):
        return next(each for each in get_args(kind) if each is not NoneType)
    return kind


def _struct(kind: type[Struct], value: object, place: str, problems: list[Problem]) -> Any:
    if not isinstance(value, dict):
        return _refuse("must be a table { … }", place, problems)
    types = _types(kind)
    for key in value:
        if key not in types:
            _refuse("there is no such key", _inside(place, key), problems, suggestion(key, types))
    read = {}
    for each in fields(kind):
        inside = _inside(place, each.name)
        found = None
        if each.name in value:
            found = shaped(types[each.name], value[each.name], inside, problems)
            text_needed = each.required or each.default is None
            if isinstance(found, str) and not found.strip() and text_needed:
                _refuse("is empty", inside, problems)
        elif each.required:
            _refuse("is missing", inside, problems)
        if found is not None:
            read[each.name] = found
        elif each.required:
            read[each.name] = _empty(types[each.name])
    if kind is Quantity and any(name in value and name not in read for name in types):
        return None  # half a quantity would only bring more messages
    return kind(**read)


@cache
def _types(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _empty(kind: Any) -> Any:
    return (get_origin(kind) or kind)()


def _inside(place: str, name: str) -> str:
    return f"{place}, {name}" if place else name


def _list(kind: Any, value: object, place: str, problems: list[Problem]) -> Any:
    if not isinstance(value, list | tuple):
        return _refuse("must be a list [ … ]", place, problems)
    read = (
        shaped(kind, each, item_place(place, _name_of(each) or str(number)), problems)
        for number, each in enumerate(value, start=1)
    )
    return tuple(each for each in read if each is not None)


def _name_of(item: object) -> str | None:
    if not isinstance(item, dict):
        return None
    names = (item.get(key) for key in ("code", "key", "name"))
    return next((name for name in names if isinstance(name, str) and name.strip()), None)


def item_place(place: str, name: str) -> str:
    """The place of an item of a list: `stages` and `L3` make `stage L3`."""
    return f"{place.removesuffix('s')} {name}"


def _named_values(kind: Any, value: object, place: str, problems: list[Problem]) -> Any:
    if not isinstance(value, dict):
        return _refuse("must be a table { … }", place, problems)
    read = {
        name: shaped(kind, each, item_place(place, name), problems) for name, each in value.items()
    }
    return {name: each for name, each in read.items() if each is not None}


def _celsius(value: object, place: str, problems: list[Problem]) -> Any:
    """A range of temperatures; one number stands for a range of no width."""
    given = value if isinstance(value, list | tuple) else [value]
    if len(given) not in (1, 2):
        return _refuse("must be one temperature, or [lowest, highest]", place, problems)
    read = [shaped(float, each, place, problems) for each in given]
    return None if None in read else (read[0], read[-1])


def _number(value: float, place: str, problems: list[Problem]) -> float | None:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if math.isfinite(number):
        return number
    _refuse("must be a finite number", place, problems)
    return None
