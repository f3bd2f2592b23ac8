"""A profile as the text of a file, laid out as this package's docstring shows."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_TABLES = ("sources",)
_LISTS_OF_TABLES = ("stages", "spans", "questions")

Comments = Mapping[str, Sequence[str]]
"""Lines without a #: those for the head of the file under "", for a stage under its code."""


def toml_of(document: Mapping[str, Any], comments: Comments) -> str:
    """The TOML text of a document as `Profile.to_dict` makes them, with comments in it."""
    lines = [*_commented(comments.get("", ()))]
    if lines:
        lines.append("")
    later = (*_TABLES, *_LISTS_OF_TABLES)
    lines += [
        f"{_key(name)} = {_value(each)}" for name, each in document.items() if name not in later
    ]
    if not document.get("sources"):
        lines += ["", "[sources]"]
    for name, source in document.get("sources", {}).items():
        lines += ["", f"[sources.{_key(name)}]", *_pairs(source)]
    for stage in document["stages"]:
        lines += ["", "[[stages]]", *_pairs(stage), *_commented(comments.get(stage["code"], ()))]
    for name in _LISTS_OF_TABLES[1:]:
        for each in document.get(name, ()):
            lines += ["", f"[[{name}]]", *_pairs(each)]
    return "\n".join(lines) + "\n"


def _commented(lines: Iterable[str]) -> list[str]:
    plain = ("".join(each if each.isprintable() else " " for each in line) for line in lines)
    return [f"# {' '.join(line.split())}".rstrip() for line in plain]


def _pairs(table: Mapping[str, Any]) -> list[str]:
    return [f"{_key(name)} = {_value(each)}" for name, each in table.items()]


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return f"{{ {', '.join(_pairs(value))} }}" if value else "{}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int | float):
        return repr(int(value)) if float(value).is_integer() else repr(float(value))
    return f"[{', '.join(map(_value, value))}]"


def _text(text: str) -> str:
    """A basic string: escaped as in JSON, and DEL, which TOML does not allow as it is."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
