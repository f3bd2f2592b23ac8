"""Which texts belong to a result: found where the sentences about its module stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from typing import Any

Texts = Mapping[type, Mapping[str, Callable[[Any], Any]]]
"""For each kind of result the texts about it, by their keys."""


def texts_of(result: object) -> dict[str, Any]:
    """The texts about a result by their keys, such as `words`; none where nothing is said of it."""
    return {key: say(result) for key, say in texts_about(type(result)).items()}


def texts_about(kind: type) -> Mapping[str, Callable[[Any], Any]]:
    """The functions that say the texts about a kind of result, by their keys."""
    ways = (_texts_about(each.__module__).get(each, {}) for each in kind.__mro__)
    return next(filter(None, ways), {})


@cache
def _texts_about(module: str) -> Texts:
    sentences = f"rearlog.sentences.{module.rpartition('.')[2]}"
    if find_spec(sentences) is None:
        return {}
    texts: Texts = getattr(import_module(sentences), "TEXTS", {})
    return texts
