"""What a class mistook in practice: counts without names, until the server ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from threading import Lock

Pair = tuple[str, str]
"""The stage that was shown, and the one that was called."""


class Tally:
    """How often each stage was called which, by species. Calls may come from several threads."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._counts: dict[str, Counter[Pair]] = {}

    def add(self, species: str, pairs: Iterable[Pair]) -> None:
        """Count some more."""
        with self._lock:
            self._counts.setdefault(species, Counter()).update(pairs)

    def of(self, species: str) -> Counter[Pair]:
        """The counts of a species."""
        with self._lock:
            return Counter(self._counts.get(species, ()))
