"""How a report is told: its title, words of its maker's own, and to whom."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from rearlog.exchange.tables import cleaned
from rearlog.records.errors import UsageError

LONGEST_TITLE = 200


class Readers(StrEnum):
    """Who is meant: they decide what stands open."""

    PARENTS = "parents"
    """Who came to see: all but the picture of everyone and what became of them is folded."""
    CLASS = "class"
    """Who kept the log: all pictures are open, the tables behind them folded."""
    LAB = "lab"
    """Who checks it: everything is open."""


class Framing(Struct, frozen=True):
    """`title` is that of the page, empty for the names of the cohorts; `words` is Markdown.

    Readers are a class where nobody says: those who kept the log find their pictures at once, and
    whoever knows less finds the sentence and the one picture before them.
    """

    title: str = ""
    words: str = ""
    readers: Readers = Readers.CLASS


def own_title(text: str) -> str:
    """A title as it is shown; raises UsageError for one that is too long."""
    return " ".join(cleaned(short_enough(text)).split())


def short_enough(title: str) -> str:
    """The title as it is; raises UsageError for one that is too long."""
    if len(title) > LONGEST_TITLE:
        raise UsageError(f"a title has up to {LONGEST_TITLE} letters")
    return title
