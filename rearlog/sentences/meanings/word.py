"""One entry of what names mean."""

from __future__ import annotations

from msgspec import Struct


class Word(Struct, frozen=True):
    """What some names stand for: what it is in one sentence, and its formula where it has one.

    `names` are the key of a result and the headings under which tables show it. `kinds` are the
    kinds of results (the names of their classes) in which they mean this; none: in all. For marks
    of charts, `charts` are those that have them. `by` is the function of `rearlog.analysis` that
    works it out (`statistics.kappa.kappa`), where it is not the one that makes the whole result.
    The page's glossary has those with a heading there, `glossary`; of one heading in one line.
    """

    names: tuple[str, ...]
    says: str
    formula: str = ""
    by: str = ""
    kinds: tuple[str, ...] = ()
    charts: tuple[str, ...] = ()
    glossary: str = ""
