"""Pictures about which a second person is asked: a list of the keeper's, until the server ends."""

from __future__ import annotations

from collections.abc import Iterable
from threading import Lock

from msgspec import Struct

MOST = 2000
"""More pictures than this do not wait at once."""


class PictureAsked(Struct, frozen=True):
    """One question: its number, and the record whose picture is shown."""

    number: int
    cohort: str
    record: int


class SecondLooks:
    """The questions that wait, and who cannot answer which. Several threads may call."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._waiting: dict[int, PictureAsked] = {}
        self._passed: set[tuple[int, int]] = set()
        self._last = 0

    def ask(self, cohort: str, records: Iterable[int]) -> int:
        """Ask about the pictures of records; how many of them did not wait already."""
        with self._lock:
            known = {each.record for each in self._waiting.values() if each.cohort == cohort}
            new = [each for each in dict.fromkeys(records) if each not in known]
            new = new[: max(0, MOST - len(self._waiting))]
            for record in new:
                self._last += 1
                self._waiting[self._last] = PictureAsked(self._last, cohort, record)
            return len(new)

    def waiting(self, visitor: int | None = None) -> list[PictureAsked]:
        """The questions that wait, without those that a visitor could not answer."""
        with self._lock:
            return [
                each
                for each in self._waiting.values()
                if (visitor, each.number) not in self._passed
            ]

    def question(self, number: int) -> PictureAsked | None:
        """The question of that number; None where it has been answered."""
        with self._lock:
            return self._waiting.get(number)

    def answered(self, number: int) -> None:
        """Nobody is asked this any more."""
        with self._lock:
            self._waiting.pop(number, None)

    def passed(self, visitor: int, number: int) -> None:
        """A visitor cannot tell; others are asked."""
        with self._lock:
            if number in self._waiting:
                self._passed.add((visitor, number))
