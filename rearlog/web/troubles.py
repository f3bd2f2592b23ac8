"""What went wrong, as data for pages and scripts."""

from __future__ import annotations

from rearlog.records.errors import RearlogError


def told_of(error: RearlogError) -> list[dict[str, str]]:
    """The problems that an error carries."""
    return [
        {"message": each.message, "place": each.place, "remedy": each.remedy}
        for each in error.problems
    ]


def one(message: str, remedy: str = "") -> list[dict[str, str]]:
    """One problem alone."""
    return [{"message": message, "place": "", "remedy": remedy}]
