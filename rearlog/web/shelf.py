"""The cohort files of one folder, read once until they change."""

from __future__ import annotations

import contextlib
import os
from collections import OrderedDict, defaultdict
from collections.abc import Callable, Hashable, Iterator, Sequence
from pathlib import Path
from threading import Lock, RLock
from typing import Any, TypeVar

from msgspec import Struct

from rearlog.notebook import Notebook
from rearlog.records.errors import RearlogError
from rearlog.records.labels import labels
from rearlog.records.log import Cohort
from rearlog.records.values import LABEL
from rearlog.store.cohort_file import CohortFile
from rearlog.store.folder import cohorts_in, is_cohort

T = TypeVar("T")
R = TypeVar("R")
Stamp = tuple[int, int, int]

MOST_KEPT = 400
"""So many answers and pictures are kept in memory, those that were used last."""


class NotOnTheShelf(Exception):
    """No cohort file of that name is in the folder."""


class Shelf:
    """The cohorts of a folder, by their names, and nothing else that is in it.

    What was worked out of files is kept until one of them changes. All calls may come from several
    threads; one of them computes at a time, and beside it one what is quick.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._computing, self._quick = RLock(), RLock()
        self._keeping = Lock()
        self._writing: defaultdict[str, Lock] = defaultdict(Lock)
        self._waiting: defaultdict[str, list[_Task]] = defaultdict(list)
        self._kept: OrderedDict[Hashable, tuple[tuple[Stamp, ...], Any]] = OrderedDict()

    def names(self) -> list[str]:
        """The names of the cohorts, in their order."""
        return list(self._paths())

    def called(self) -> dict[str, str]:
        """What each cohort is called, by its name: its label, told apart from those of others.

        One that cannot be read, and copies of one, are called by their names.
        """
        cohorts, copies = self._cohorts(), self.copies()
        apart = dict(zip(cohorts, labels([*cohorts.values()]), strict=True))
        return {name: name if name in copies else apart.get(name, name) for name in self.names()}

    def copies(self) -> dict[str, list[str]]:
        """The names of files that are copies of one cohort, each with those of the others."""
        files: defaultdict[str, list[str]] = defaultdict(list)
        for name, cohort in self._cohorts().items():
            files[cohort.id].append(name)
        return {
            name: [each for each in alike if each != name]
            for alike in files.values()
            if len(alike) > 1
            for name in alike
        }

    def readable(self) -> dict[str, Notebook]:
        """The cohorts that can be read, by their names; the shelf page says why others cannot."""
        found = {}
        for name in self.names():
            with contextlib.suppress(RearlogError, NotOnTheShelf):
                found[name] = self.notebook(name)
        return found

    def _cohorts(self) -> dict[str, Cohort]:
        return {name: each.log.cohort for name, each in self.readable().items()}

    def _paths(self) -> dict[str, Path]:
        return {path.stem: path for path in cohorts_in(self.folder) if self._is_of_it(path)}

    def _is_of_it(self, path: Path) -> bool:
        """Whether a file has a cohort's name and is no link that leads out of the folder."""
        if not LABEL.fullmatch(path.stem):
            return False
        return not path.is_symlink() or path.resolve().parent == self.folder.resolve()

    def path(self, name: str) -> Path:
        """The file of a cohort; raises NotOnTheShelf for any other name."""
        path = self.folder / f"{name}.json"
        if LABEL.fullmatch(name) and path.name in os.listdir(self.folder):  # in this very case
            found = path if self._is_of_it(path) and is_cohort(path) else None
        else:
            found = self._paths().get(name)
        if found is None:
            raise NotOnTheShelf(name)
        return found

    def notebook(self, name: str) -> Notebook:
        """A cohort as its file stands."""
        path = self.path(name)
        return self.kept("notebook", [name], lambda: _read(path), quick=True)

    def stamp(self, name: str) -> str:
        """A text that is another one after each change of a cohort's file."""
        return "-".join(map(str, _stamp(self.path(name))))

    def kept(
        self,
        key: Hashable,
        names: Sequence[str],
        make: Callable[[], T],
        *,
        quick: bool = False,
    ) -> T:
        """What `make` returns; if it was made before of the same files as they stand, as it was.

        What is `quick` does not wait for what is not, and must not ask for it.
        """
        place = (key, *names)
        with self._quick if quick else self._computing:
            stamps = tuple(_stamp(self.path(name)) for name in names)
            with self._keeping:
                known = self._kept.get(place)
                if known is not None and known[0] == stamps:
                    self._kept.move_to_end(place)
                    found: T = known[1]
                    return found
            made = make()
            with self._keeping:
                self._kept[place] = stamps, made
                self._kept.move_to_end(place)
                while len(self._kept) > MOST_KEPT:
                    self._kept.popitem(last=False)
            return made

    @contextlib.contextmanager
    def writing(self, name: str) -> Iterator[CohortFile]:
        """The file of a cohort, to be written to by one visitor after the other."""
        path = self.path(name)
        with self._writing[name]:
            yield CohortFile(path)

    def write(self, name: str, told: T, do: Callable[[CohortFile, list[T]], list[R]]) -> R:
        """What `do` answers to what is `told`.

        What others tell while the file is written to is done at once afterwards, so that many who
        tell at the same moment wait for few writes. What `do` raises concerns all of them.
        """
        task = _Task(told)
        with self._keeping:
            self._waiting[name].append(task)
        with self.writing(name) as file:
            if not task.done:
                with self._keeping:
                    tasks, self._waiting[name] = self._waiting[name], []
                try:
                    answers = do(file, [each.told for each in tasks])
                    for each, answer in zip(tasks, answers, strict=True):
                        each.answer = answer
                except BaseException as error:
                    for each in tasks:
                        each.error = error
                for each in tasks:
                    each.done = True
        if task.error is not None:
            raise task.error
        answer_to_it: R = task.answer
        return answer_to_it


class _Task(Struct):
    """What one visitor tells, and what became of it."""

    told: Any
    answer: Any = None
    error: BaseException | None = None
    done: bool = False


def _read(path: Path) -> Notebook:
    """A notebook that has read its file: threads that share it see one state of it."""
    made = Notebook(path)
    made.log  # noqa: B018
    return made


def _stamp(path: Path) -> Stamp:
    try:
        found = os.stat(path)
    except FileNotFoundError:
        raise NotOnTheShelf(path.stem) from None
    return found.st_mtime_ns, found.st_size, found.st_ino
