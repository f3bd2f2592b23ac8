"""The JSON Schemas of all answers, made from their types, and what each key means from `explain`.

`python -m rearlog.present.json_schema` writes them anew into `present/schemas/`, from where they
are shipped; a test holds that they are what the types say.
"""

from __future__ import annotations

import inspect
import json
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from enum import Enum
from importlib import import_module
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from rearlog.analysis.hints import hints_of, is_result, named_for_hints
from rearlog.present.explaining import notes_on, word_of
from rearlog.present.json import RESULTS, VERSIONS, full_name
from rearlog.records.fields import Marked
from rearlog.sentences.texts import texts_about

FOLDER = Path(__file__).parent / "schemas"
DIALECT = "https://json-schema.org/draft/2020-12/schema"
TEXT = {"type": ["string", "array", "null"], "items": {"type": "string"}}
"""One sentence, several, or none."""
_PLAIN: dict[Any, dict[str, Any]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    datetime: {"type": "string", "format": "date-time"},
    date: {"type": "string", "format": "date"},
    NoneType: {"type": "null"},
    Any: {},
}


def schemas() -> dict[str, dict[str, Any]]:
    """The schema of every answer, by its name."""
    return {name: schema_of(name) for name in RESULTS}


def schema_of(name: str) -> dict[str, Any]:
    """The schema of one answer."""
    module, _, kind = RESULTS[name].rpartition(".")
    parts = Parts()
    whole = parts.of(getattr(import_module(f"rearlog.{module}"), kind), inside=False)
    whole["properties"] = {
        "schema": {"const": full_name(name), "description": "The name of this schema."},
        "version": {
            "const": VERSIONS.get(name, 1),
            "description": "It goes up where a key goes, or comes to mean something else.",
        },
    } | whole["properties"]
    whole["required"] = ["schema", "version", *whole["required"]]
    head = {"$schema": DIALECT, "title": full_name(name)}
    return head | whole | ({"$defs": dict(sorted(parts.found.items()))} if parts.found else {})


class Parts:
    """The schemas of the kinds that an answer is made of, found as they are met."""

    def __init__(self) -> None:
        self.found: dict[str, dict[str, Any]] = {}

    def of(self, kind: type, *, inside: bool = True) -> dict[str, Any]:
        """The schema of a kind of result; `inside` an answer, a reference to it."""
        if inside:
            if kind.__name__ not in self.found:
                self.found[kind.__name__] = {}  # a kind may hold itself
                self.found[kind.__name__] = self.of(kind, inside=False)
            return {"$ref": f"#/$defs/{kind.__name__}"}
        facts = {name: self.hinted(hint) for name, hint in hints_of(kind).items()}
        if issubclass(kind, Marked):
            facts["struck"] = self.hinted(get_hint_of(Marked.struck))
        texts = {key: self.said(say) for key, say in texts_about(kind).items()}
        keys = {
            key: schema | _described(_meaning(kind, key)) for key, schema in (facts | texts).items()
        }
        own = {"description": _first(kind)}
        return {"type": "object"} | own | {"properties": keys, "required": list(keys)}

    def hinted(self, hint: Any) -> dict[str, Any]:
        """The schema of what a hint allows."""
        kind, inner = get_origin(hint) or hint, get_args(hint)
        if hint in _PLAIN:
            return dict(_PLAIN[hint])
        if kind in (Union, UnionType):
            return _any_of([self.hinted(each) for each in inner])
        if kind is Literal:
            return {"enum": list(inner)}
        if kind is tuple and Ellipsis not in inner:
            items = [self.hinted(each) for each in inner]
            ends = {"minItems": len(items), "maxItems": len(items)}
            return {"type": "array", "prefixItems": items} | ends
        if is_result(kind):
            return self.of(kind)
        if issubclass(kind, Enum):
            return {"enum": [each.value for each in kind]}
        if issubclass(kind, Mapping):
            return {"type": "object", "additionalProperties": self.hinted(inner[1])}
        if issubclass(kind, Iterable):
            return {"type": "array", "items": self.hinted(inner[0])}
        raise TypeError(f"there is no schema for {hint}")

    def said(self, say: Callable[[Any], Any]) -> dict[str, Any]:
        """The schema of what a function of `sentences` says."""
        hint = get_hint_of(say)
        return dict(TEXT) if hint is None else self.hinted(hint)


def _any_of(schemas: list[dict[str, Any]]) -> dict[str, Any]:
    """One of several: where each is a type alone, a list of types."""
    if all(each.keys() == {"type"} for each in schemas):
        return {"type": [each["type"] for each in schemas]}
    return {"anyOf": schemas}


def _described(text: str | None) -> dict[str, str]:
    return {"description": text} if text else {}


def _meaning(kind: type, key: str) -> str | None:
    """What a key means: its entry among the meanings, or what the docstring of its kind says."""
    word = word_of(kind, key) if kind.__module__.startswith("rearlog.analysis.") else None
    return word.says if word is not None else notes_on(kind, key)


def _first(kind: type) -> str:
    """The first paragraph of the docstring that every kind of result has."""
    doc = inspect.getdoc(kind)
    assert doc is not None
    text = " ".join(doc.split("\n\n")[0].split())
    return re.sub(r"`([^`]*)`", r"“\1”", text)


def get_hint_of(function: Any) -> Any:
    """What a function, or a property, returns by its hint; None where it has none."""
    function = function.fget if isinstance(function, property) else function
    if "return" not in getattr(function, "__annotations__", {}):
        return None
    return get_type_hints(function, localns=named_for_hints(function.__module__))["return"]


def written(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return f"{json.dumps(schema, indent=1, ensure_ascii=False)}\n"


if __name__ == "__main__":
    for each in FOLDER.glob("*.json"):
        each.unlink()
    for name, schema in schemas().items():
        (FOLDER / f"{name}.json").write_text(written(schema), encoding="utf-8")
