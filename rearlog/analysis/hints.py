"""The types of the fields of results, as their annotations say them."""

from __future__ import annotations

from dataclasses import fields
from functools import cache
from importlib import import_module
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

LATE = {"InDoubt": "rearlog.analysis.stages.in_doubt"}
"""Kinds that a module names in its hints and imports only for them."""


@cache
def hints_of(kind: type) -> dict[str, Any]:
    """The types of the fields of a kind of result."""
    late = {name: getattr(import_module(module), name) for name, module in LATE.items()}
    hints = get_type_hints(kind, localns=late)
    return {each.name: hints[each.name] for each in fields(kind)}


def known(hint: Any) -> Any:
    """The type of a field where its value is known: `X` of `X | None`."""
    kinds = [each for each in get_args(hint) if each is not NoneType]
    return kinds[0] if NoneType in get_args(hint) and len(kinds) == 1 else hint


def is_pair(hint: Any) -> bool:
    """Whether a field holds two values, such as a range."""
    return get_origin(hint) is tuple and Ellipsis not in get_args(hint) and len(get_args(hint)) == 2
