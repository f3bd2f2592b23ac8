"""The cohort files of one folder, read once until they change."""

from __future__ import annotations

import contextlib
import os
from collections import OrderedDict, defaultdict
from collections.abc import Callable, Hashable, Iterator, Sequence
from pathlib import Path
from threading import Lock, RLock
from typing import Any, TypeVar

from rearlog.notebook import Notebook
from rearlog.records.starting import NAME
from rearlog.store.cohort_file import CohortFile
from rearlog.store.folder import cohorts_in

T = TypeVar("T")
Stamp = tuple[int, int, int]

MOST_KEPT = 400
"""So many answers and pictures are kept in memory, those that were used last."""


class NotOnTheShelf(Exception):
    """No cohort file of that name is in the folder."""


class Shelf:
    """The cohorts of a folder, by their names, and nothing else that is in it.

    What was worked out of files is kept until one of them changes. All calls may come from several
    threads; one of them computes at a time.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._computing = RLock()
        self._writing: defaultdict[str, Lock] = defaultdict(Lock)
        self._kept: OrderedDict[Hashable, tuple[tuple[Stamp, ...], Any]] = OrderedDict()

    def names(self) -> list[str]:
        """The names of the cohorts, in their order."""
        return list(self._paths())

    def _paths(self) -> dict[str, Path]:
        """Those with a cohort's name; no links that lead out of the folder."""
        home = self.folder.resolve()
        found = (path for path in cohorts_in(self.folder) if NAME.fullmatch(path.stem))
        return {
            path.stem: path
            for path in found
            if not path.is_symlink() or path.resolve().parent == home
        }

    def path(self, name: str) -> Path:
        """The file of a cohort; raises NotOnTheShelf for any other name."""
        found = self._paths().get(name)
        if found is None:
            raise NotOnTheShelf(name)
        return found

    def notebook(self, name: str) -> Notebook:
        """A cohort as its file stands."""
        path = self.path(name)
        return self.kept("notebook", [name], lambda: Notebook(path))

    def stamp(self, name: str) -> str:
        """A text that is another one after each change of a cohort's file."""
        return "-".join(map(str, _stamp(self.path(name))))

    def kept(self, key: Hashable, names: Sequence[str], make: Callable[[], T]) -> T:
        """What `make` returns; if it was made before of the same files as they stand, as it was."""
        stamps = tuple(_stamp(self.path(name)) for name in names)
        place = (key, *names)
        with self._computing:
            known = self._kept.get(place)
            if known is not None and known[0] == stamps:
                self._kept.move_to_end(place)
                found: T = known[1]
                return found
            made = make()
            self._kept[place] = stamps, made
            self._kept.move_to_end(place)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
            return made

    @contextlib.contextmanager
    def writing(self, name: str) -> Iterator[CohortFile]:
        """The file of a cohort, to be written to: one visitor after the other, in their order."""
        path = self.path(name)
        with self._writing[name]:
            yield CohortFile(path)


def _stamp(path: Path) -> Stamp:
    try:
        found = os.stat(path)
    except FileNotFoundError:
        raise NotOnTheShelf(path.stem) from None
    return found.st_mtime_ns, found.st_size, found.st_ino
