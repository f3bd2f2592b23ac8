"""The words of answers in Python: the sentence that opens them, and what their columns mean."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from rearlog.analysis.answer import Answer


def words(answer: object) -> tuple[str, ...]:
    """What an answer says, in sentences; none where it has only numbers."""
    from rearlog.sentences.texts import texts_of

    said = texts_of(answer).get("words", ())
    return (said,) if isinstance(said, str) else tuple(said)


class Interpreter:
    """Says what `sentences` says of answers and of the keys of results, and loads it only then."""

    def lead(self, answer: Answer) -> str:
        """The sentence that an answer opens with; empty where there is none."""
        from rearlog.analysis.forecasting.due import Due

        found = _lead_of(type(answer).__module__)
        asked: Answer | Sequence[Answer] = [answer] if isinstance(answer, Due) else answer
        return "" if found is None else str(found(asked))

    def meaning(self, kind: type, key: str) -> str:
        """What a key of a kind of result means; empty where nothing is said of it."""
        return _meaning(kind, key)


@cache
def _lead_of(module: str) -> Any:
    name = f"rearlog.sentences.{module.rpartition('.')[2]}"
    return getattr(import_module(name), "lead", None) if find_spec(name) else None


@cache
def _meaning(kind: Any, key: str) -> str:
    from rearlog.present.explaining import notes_on, word_of

    word = word_of(kind, key)
    return word.says if word is not None else notes_on(kind, key) or ""
