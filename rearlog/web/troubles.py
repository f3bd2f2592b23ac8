"""What went wrong, as data for pages and scripts."""

from __future__ import annotations

from rearlog.records.command_text import in_browser
from rearlog.records.errors import Problem, RearlogError


def told_of(error: RearlogError) -> list[dict[str, str]]:
    """The problems that an error carries."""
    return [*map(as_data, error.problems)]


def as_data(problem: Problem) -> dict[str, str]:
    """One of them."""
    return {
        "message": in_browser(problem.message),
        "place": problem.place,
        "remedy": in_browser(problem.remedy),
    }


def one(message: str, remedy: str = "") -> list[dict[str, str]]:
    """One problem alone."""
    return [as_data(Problem(message, remedy=remedy))]
