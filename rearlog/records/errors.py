"""The one family of errors that a user can mend, and the problems that it carries."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct


class Problem(Struct, frozen=True):
    """One mistake: what is wrong, where it stands, and what would be right.

    `place` names the file, line, cell, individual or part of an entry (may be empty);
    `remedy` says what to do instead (may be empty).
    """

    message: str
    place: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        text = f"{self.place}: {self.message}" if self.place else self.message
        return f"{text} ({self.remedy})" if self.remedy else text


class RearlogError(Exception):
    """Something that the user can mend. Carries every problem that was found, not just the first.

    Commands show the problems on standard error and exit with `exit_code`
    (1: the data are wrong; 2: the call is wrong).
    """

    exit_code = 1
    most_told = 10
    """So many problems are told in a message: a screen full of them is not read."""

    def __init__(self, problems: str | Problem | Iterable[Problem], remedy: str = "") -> None:
        if isinstance(problems, str):
            problems = Problem(problems, remedy=remedy)
        if isinstance(problems, Problem):
            problems = (problems,)
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def told(self) -> list[str]:
        """A line for each problem, the first `most_told` of them, and how many more there are."""
        lines = [str(problem) for problem in self.problems[: self.most_told]]
        more = len(self.problems) - len(lines)
        return [*lines, f"… and {more} more"] if more else lines


class UsageError(RearlogError):
    """The call itself is wrong: an unreadable date, an option that does not fit."""

    exit_code = 2


class RecordError(RearlogError):
    """A record that the rules of the log do not allow."""


class EntryError(RearlogError):
    """A line of the compact notation that cannot be read."""


class ImportRefused(RearlogError):
    """A file of observations or temperatures with cells that cannot be taken."""

    most_told = 50


class StoreError(RearlogError):
    """A cohort file that cannot be read, written or trusted."""


class ProfileError(RearlogError):
    """A species profile with something missing, out of order or without a source."""
