"""Puts a fault into a module that is already imported, in a process that ends with the trial.

Functions get the code of the mutated ones, wherever they are referred to; what a module computes
on import, defaults among it, is computed again and put where it is different now.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterable, Iterator
from types import CodeType, FunctionType, ModuleType
from typing import Any

from tests.mutation.operators import mutated

Key = tuple[str, int]


def functions_by_file(root: str) -> dict[str, list[FunctionType]]:
    """All functions there are whose source is under a folder, by file."""
    found: dict[str, list[FunctionType]] = {}
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(root):
            found.setdefault(each.__code__.co_filename, []).append(each)
    return found


def plant(
    module: ModuleType, source: str, index: int, functions: Iterable[FunctionType], again: bool
) -> None:
    """The fault of this index put into a module; `again`: whether its import is affected."""
    assert module.__file__
    code = compile(mutated(source, index), module.__file__, "exec")
    codes = dict(_codes(code))
    for function in functions:
        other = codes.get(_key(function.__code__))
        if other is not None and len(other.co_freevars) == len(function.__code__.co_freevars):
            function.__code__ = other
    if again:
        fresh: dict[str, Any] = {"__name__": module.__name__, "__file__": module.__file__}
        exec(code, fresh)
        _replace_values(module, fresh)


def _codes(code: CodeType) -> Iterator[tuple[Key, CodeType]]:
    for each in code.co_consts:
        if isinstance(each, CodeType):
            yield _key(each), each
            yield from _codes(each)


def _key(code: CodeType) -> Key:
    return code.co_qualname, code.co_firstlineno


def _replace_values(module: ModuleType, fresh: dict[str, Any]) -> None:
    for name, new in fresh.items():
        old = vars(module).get(name)
        if isinstance(old, type):
            if old.__module__ == module.__name__:
                _replace_in_class(old, new)
        elif isinstance(old, FunctionType):
            if old.__module__ == module.__name__:
                old.__defaults__, old.__kwdefaults__ = new.__defaults__, new.__kwdefaults__
        elif not isinstance(old, ModuleType) and repr(old) != repr(new):
            for other in tuple(sys.modules.values()):
                if other is not None and getattr(other, "__dict__", {}).get(name) is old:
                    setattr(other, name, new)


def _replace_in_class(old: type, new: type) -> None:
    for name, value in vars(new).items():
        before = vars(old).get(name)
        if isinstance(value, FunctionType) and isinstance(before, FunctionType):
            before.__defaults__, before.__kwdefaults__ = value.__defaults__, value.__kwdefaults__
        elif name.startswith("__"):
            continue
        elif isinstance(value, int | float | str | tuple | frozenset) and before != value:
            setattr(old, name, value)
