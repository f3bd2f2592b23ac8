"""What is said of observations that came in as files."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rearlog.records.wording import counted

if TYPE_CHECKING:
    from rearlog.records.doubts import Doubt
    from rearlog.store.cohort_file import Recorded

MOST_DOUBTS = 20
"""How many doubts are listed; the others are counted."""


def imported_words(found: Recorded, files: Sequence[str], *, dry_run: bool) -> str:
    """What files brought, or would bring in a `dry_run`."""
    told = counted(len(found.checks), "check")
    told += f" and the temperatures of {counted(len(found.days), 'day')}" if found.days else ""
    already = found.already
    passed = f"; {already} were in the log already and are passed over" if already else ""
    if dry_run:
        return f"Nothing recorded: {told} would be{passed}."
    return f"Imported {told} from {', '.join(files)}{passed}."


def doubt_lines(doubts: Sequence[Doubt]) -> list[str]:
    """What new looks contradict, a line each; of many the first."""
    return first_of("In doubt", [str(each.problem) for each in doubts])


def first_of(what: str, lines: Sequence[str]) -> list[str]:
    """The first of some lines, and how many more there are."""
    more = len(lines) - MOST_DOUBTS
    shown = [f"{what}: {each}" for each in lines[:MOST_DOUBTS]]
    return [*shown, f"{what}: and {more} more"] if more > 0 else shown
