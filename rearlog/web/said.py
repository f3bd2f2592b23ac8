"""What was done is told on the page that is shown after it: kept here between the two."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Sequence
from threading import Lock

MOST = 500
"""So many are kept, those of last."""


class Said:
    """Lines for one visitor, under a key that goes into the address. Several threads may call."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._kept: OrderedDict[tuple[int, str], tuple[str, ...]] = OrderedDict()

    def keep(self, visitor: int, lines: Sequence[str]) -> str:
        """Keep lines; returns their key."""
        key = secrets.token_urlsafe(9)
        with self._lock:
            self._kept[visitor, key] = tuple(lines)
            while len(self._kept) > MOST:
                self._kept.popitem(last=False)
        return key

    def of(self, visitor: int, key: str) -> tuple[str, ...]:
        """The lines that were kept for a visitor under a key; none where there are none."""
        with self._lock:
            return self._kept.get((visitor, key), ())
