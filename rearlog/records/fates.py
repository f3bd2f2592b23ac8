"""What ends the watch on an individual, and what people usually say of the cause."""

from __future__ import annotations

from enum import StrEnum


class Fate(StrEnum):
    """How the watch on an individual ended: found dead, missing, or taken out alive."""

    DEAD = "dead"
    LOST = "lost"
    REMOVED = "removed"


FATES = tuple(map(str, Fate))

SUGGESTED_CAUSES: dict[Fate, tuple[str, ...]] = {
    Fate.DEAD: (
        *("mould", "shrivelled", "parasitoid", "disease", "stuck in the molt", "crushed"),
        *("drowned", "eaten", "unknown"),
    ),
    Fate.LOST: ("escaped",),
    Fate.REMOVED: ("released", "preserved", "given away"),
}
"""Causes that are offered where one is asked for; any other may be written."""
