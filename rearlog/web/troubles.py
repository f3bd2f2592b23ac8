"""What went wrong, as data for pages and scripts."""

from __future__ import annotations

import re

from rearlog.records.errors import Problem, RearlogError

_HERE = (
    (r"add --unit F", "choose °F"),
    (r"say --unit [CF], or --unit [CF]", "choose °C or °F"),
    (r"or date,min,max where --unit says which", "or date,min,max where °C or °F is chosen"),
    (r"say which: --dates day-first or --dates month-first", "choose day first or month first"),
    (r"say which, such as --clock-zone UTC", "name the zone of its clock, such as UTC"),
    (r"or say --clock-zone", "or name the zone of its clock"),
    (r"name others with --time-column and --temperature-column", "or name its columns"),
    (r"name it with --(time|temperature)-column", r"name the column of the \1"),
    (r"(take it out, or )add --ignore-extra", r"\1choose to pass over other columns"),
    (r"another round has another time, told with --on", "another round has another time"),
    (r"“rearlog history [^”]*” shows its records", "its own page shows its records"),
    (r"“rearlog history” shows the numbers", "the list shows the numbers"),
    (r"go back (to a backup )?with “rearlog restore [^”]*”", "go back to a backup"),
    (r"see what is wrong with “rearlog verify [^”]*”", "the page Safety shows what is wrong"),
    # where on this machine a file lies is for nobody at a tablet
    (
        r"“rearlog verify --accept '?(?:[^”]*[/\\])?([^”/\\]*?)(?:\.json)?'?”",
        r"in a terminal: rearlog verify --accept \1",
    ),
    (r"see “rearlog restore [^”]*”", "look at the list again"),
    (r"start one with “rearlog start”, or check the name", "start one"),
)
"""What a remedy says of commands and their options, and what it says in a browser."""


def in_browser(remedy: str) -> str:
    """A remedy in the words of the pages."""
    for command, words in _HERE:
        remedy = re.sub(command, words, remedy)
    return remedy


def told_of(error: RearlogError) -> list[dict[str, str]]:
    """The problems that an error carries."""
    return [*map(as_data, error.problems)]


def as_data(problem: Problem) -> dict[str, str]:
    """One of them."""
    remedy = in_browser(problem.remedy)
    return {"message": problem.message, "place": problem.place, "remedy": remedy}


def one(message: str, remedy: str = "") -> list[dict[str, str]]:
    """One problem alone."""
    return [as_data(Problem(message, remedy=remedy))]
