"""The types of the fields of results, as their annotations say them."""

from __future__ import annotations

import ast
import inspect
from functools import cache
from importlib import import_module
from types import NoneType
from typing import Any, TypeGuard, get_args, get_origin, get_type_hints

from msgspec import Struct


@cache
def hints_of(kind: type[Struct]) -> dict[str, Any]:
    """The types of the fields of a kind of result, those included that it inherits."""
    modules = [each.__module__ for each in with_bases(kind)]
    named = {name: each for module in modules for name, each in named_for_hints(module).items()}
    hints = get_type_hints(kind, localns=named)
    return {name: hints[name] for name in kind.__struct_fields__}


@cache
def named_for_hints(module: str) -> dict[str, Any]:
    """What a module imports only where types are looked at."""
    tree = ast.parse(inspect.getsource(import_module(module)))
    return {
        each.name: getattr(import_module(node.module), each.name)
        for block in tree.body
        if isinstance(block, ast.If) and ast.unparse(block.test) == "TYPE_CHECKING"
        for node in block.body
        if isinstance(node, ast.ImportFrom) and node.module
        for each in node.names
    }


def with_bases(kind: type[Struct]) -> list[type[Struct]]:
    """A kind of result, and those that it inherits from."""
    return [each for each in kind.__mro__ if issubclass(each, Struct) and each is not Struct]


def is_result(hint: Any) -> TypeGuard[type[Struct]]:
    """Whether a type is that of results, or of parts of them."""
    return isinstance(hint, type) and issubclass(hint, Struct)


def known(hint: Any) -> Any:
    """The type of a field where its value is known: `X` of `X | None`."""
    kinds = [each for each in get_args(hint) if each is not NoneType]
    return kinds[0] if NoneType in get_args(hint) and len(kinds) == 1 else hint


def is_pair(hint: Any) -> bool:
    """Whether a field holds two values, such as a range."""
    return get_origin(hint) is tuple and Ellipsis not in get_args(hint) and len(get_args(hint)) == 2
