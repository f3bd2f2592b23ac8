"""Results for programs: their facts, and beside them the texts that people read."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any

from rearlog.records.fields import Marked
from rearlog.sentences.texts import texts_of


def to_json(result: Any) -> str:
    """A result dataclass as one JSON object, its fields and texts as keys, None as null."""
    import msgspec  # start-up time: tables need it not

    return msgspec.json.format(msgspec.json.encode(plain(result)), indent=2).decode()


def plain(value: Any) -> Any:
    """A result as dictionaries, lists and values. Unknown is None; a NaN is a mistake of ours.

    A text of the same key takes the place of a fact: JSON has said it in words for long.
    """
    if is_dataclass(value):
        facts = {each.name: getattr(value, each.name) for each in fields(value)}
        if isinstance(value, Marked):
            facts["struck"] = value.struck
        return plain(facts | texts_of(value))
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, float) and value != value:
        raise ValueError("a result holds NaN where None is meant")
    if isinstance(value, str) and not value.isascii():
        return value.encode(errors="replace").decode()  # names of files may hold broken letters
    return value
