"""One cohort, one file: starting it, reading it, adding records, striking them out."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rearlog.records.errors import Problem, RecordError, UsageError
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Observation,
    Struck,
    Temperature,
    time_order,
)
from rearlog.records.rules import problems_of, problems_of_individual
from rearlog.store import codec
from rearlog.store.codec import NAME as NAME
from rearlog.store.layout import Table, no_collection
from rearlog.store.reading import log_in
from rearlog.store.storage import CohortStorage

if TYPE_CHECKING:
    from rearlog.store.merging import Merge


def find(cohort: str) -> Path:
    """The file of a cohort given as a path (with or without .json), or as a name.

    A name stands for a file in `$REARLOG_DIR` (or this folder).
    """
    if cohort.endswith(".json"):
        return Path(cohort)
    if os.sep in cohort or (os.altsep is not None and os.altsep in cohort):
        return Path(cohort) if os.path.isfile(cohort) else Path(f"{cohort}.json")
    if not NAME.fullmatch(cohort):
        raise UsageError(
            f"“{cohort[:40]}” is not a cohort name", "use letters, digits, - and _, or a path"
        )
    return Path(os.environ.get("REARLOG_DIR") or ".") / f"{cohort}.json"


class CohortFile:
    """The file of one cohort. Each method that writes does so under the lock, once, whole.

    Only what a call needs is turned into records, so that one entry is quick in a long log.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._storage = CohortStorage(self.path)
        self._outlined: tuple[set[str] | None, CohortLog] | None = None

    @contextlib.contextmanager
    def held(self, *, create: bool = False) -> Iterator[None]:
        """Keep others from writing between what is read and what is written inside.

        What is written inside is saved at the end, all of it or, after an error, nothing.
        """
        with self._storage.transaction(create=create):
            try:
                yield
            finally:
                self._outlined = None

    def create(self, cohort: Cohort, individuals: Iterable[Individual]) -> None:
        """Write a new file; raises StoreError where there is one already."""
        with self.held(create=True):
            self._insert("cohort", [cohort])
            self._insert("individuals", _admitted([], individuals, cohort))

    def read(self) -> CohortLog:
        """The whole log; raises StoreError where it cannot be read or trusted."""
        with no_collection():
            return log_in(self._storage.read(), self.path)

    def outline(self, codes: Iterable[str] | None = None) -> CohortLog:
        """The log of some individuals (None: of all), without temperatures.

        It has all the checks of those in `codes`, whose case does not matter, and of the others
        how they ended.
        """
        chosen = None if codes is None else {code.casefold() for code in codes}
        if self._outlined is not None:  # only while the file is held
            known, log = self._outlined
            if known is None or (chosen is not None and chosen <= known):
                return log
        tables = self._storage.read() if chosen is None else self._storage.read_some(chosen)
        log = log_in(tables, self.path, chosen, temperatures=False)
        if self._storage.held:
            self._outlined = chosen, log
        return log

    def add_individuals(self, individuals: Sequence[Individual]) -> None:
        """Add individuals; raises RecordError where a code is taken or a rule is broken."""
        with self.held():
            log = self.outline(())
            self._insert("individuals", _admitted(log.individuals, individuals, log.cohort))

    def add_observations(
        self, observations: Sequence[Observation], now: datetime
    ) -> list[Observation]:
        """Add a round and return it with its numbers.

        Raises RecordError with every rule that it breaks; then nothing is written.
        """
        with self.held():
            check_round(self.outline({each.individual for each in observations}), observations, now)
            added = [replace(each, entered=now) for each in observations]
            numbers = self._insert("observations", added)
        return [replace(each, number=number) for each, number in zip(added, numbers, strict=True)]

    def add_temperatures(self, temperatures: Sequence[Temperature], now: datetime) -> list[int]:
        """Add temperature records and return their numbers; raises RecordError."""
        from rearlog.records.temperature_rules import problems_of_temperature  # start-up time

        problems = [problem for each in temperatures for problem in problems_of_temperature(each)]
        if problems:
            raise RecordError(problems)
        with self.held():
            return self._insert(
                "temperatures", [replace(each, entered=now) for each in temperatures]
            )

    def strike(
        self, observations: Iterable[int], temperatures: Iterable[int], struck: Struck
    ) -> None:
        """Strike records out by their numbers.

        Raises RecordError for numbers that are not there or struck already, and where the
        records that stay would break a rule without them.
        """
        wanted = {
            "observations": tuple(dict.fromkeys(observations)),
            "temperatures": tuple(dict.fromkeys(temperatures)),
        }
        with self.held():
            problems = [
                problem
                for name, numbers in wanted.items()
                for problem in _not_to_be_struck(self._table(name), name, numbers)
            ]
            if problems:
                raise RecordError(problems)
            self._check_without(wanted["observations"], struck.at)
            for name, numbers in wanted.items():
                self._mark(name, dict.fromkeys(numbers, struck))

    def merge(self, copy: Path, now: datetime) -> Merge:
        """Take over what a copy of the cohort has and this file has not; the copy stays as it is.

        Raises RecordError with everything in which the two contradict each other.
        """
        from rearlog.store.merging import compare  # start-up time

        theirs = CohortFile(copy).read()
        with self.held():
            brought = compare(self.read(), theirs, now)
            self._insert("individuals", brought.individuals)
            self._insert("observations", brought.observations.added)
            self._insert("temperatures", brought.temperatures.added)
            self._mark("observations", brought.observations.struck)
            self._mark("temperatures", brought.temperatures.struck)
        return brought

    def _check_without(self, numbers: tuple[int, ...], now: datetime) -> None:
        """Raise RecordError where the log breaks a rule once these observations are out."""
        table = self._table("observations")
        codes = {str(table[str(number)].get("individual")) for number in numbers}
        log = self.outline(codes)
        left = tuple(each for each in log.all_observations if each.number not in numbers)
        _check(replace(log, all_observations=left), codes, (), now)

    def _insert(self, name: str, records: Iterable[codec.Record]) -> list[int]:
        documents = [codec.to_document(each) for each in records]
        if not documents:
            return []
        appended = self._storage.append(documents) if name == "observations" else None
        if appended is not None:
            self._outlined = None
            return appended
        table = self._table(name)
        numbers = _free_numbers(table, len(documents))
        self._put(name, table, dict(zip(map(str, numbers), documents, strict=True)))
        return numbers

    def _mark(self, name: str, marks: Mapping[int, Struck]) -> None:
        table = self._table(name)
        marked = {
            str(number): table[str(number)] | {"struck": codec.struck_document(struck)}
            for number, struck in marks.items()
        }
        self._put(name, table, marked)

    def _table(self, name: str) -> Table:
        return self._storage.read().get(name, {})

    def _put(self, name: str, table: Table, documents: Table) -> None:
        """Put documents into a copy of a table: logs that were read before keep what they have."""
        if documents:
            self._storage.write(self._storage.read() | {name: table | documents})
            self._outlined = None


def _free_numbers(table: Table, count: int) -> list[int]:
    """The numbers for new documents: records are never taken out, so they follow on."""
    numbers = range(len(table) + 1, len(table) + 1 + count)
    if any(str(number) in table for number in numbers):  # the file was laid out by hand
        highest = max(int(number) for number in table if number.isdecimal())
        numbers = range(highest + 1, highest + 1 + count)
    return list(numbers)


def check_round(log: CohortLog, added: Sequence[Observation], now: datetime) -> None:
    """Raise RecordError with every rule broken by the log once `added` stands in it."""
    _check(log, {each.individual for each in added}, added, now)


def _check(
    log: CohortLog, codes: Collection[str], added: Sequence[Observation], now: datetime
) -> None:
    new: dict[str, list[Observation]] = {code: [] for code in log.by_code if code in codes}
    problems: list[Problem] = []
    for each in added:
        if each.individual in new:
            new[each.individual].append(each)
        else:
            problems.append(Problem(f"no individual {each.individual} in this cohort"))
    for code, observations in new.items():
        checks = sorted([*log.checks[code], *observations], key=time_order)
        problems += problems_of(log.cohort.species, log.by_code[code], checks, now)
    if problems:
        raise RecordError(problems)


def _admitted(
    known: Iterable[Individual], new: Iterable[Individual], cohort: Cohort
) -> list[Individual]:
    """The new individuals; raises RecordError with every code taken and every rule broken."""
    taken = {each.code.casefold() for each in known}
    admitted, problems = list(new), []
    for each in admitted:
        if each.code.casefold() in taken:
            problems.append(Problem(f"{each.code} is in this cohort already"))
        taken.add(each.code.casefold())
        problems += problems_of_individual(cohort, each)
    if problems:
        raise RecordError(problems)
    return admitted


def _not_to_be_struck(table: Table, name: str, numbers: Iterable[int]) -> Iterator[Problem]:
    for number in numbers:
        document = table.get(str(number))
        if not isinstance(document, dict):
            yield Problem(f"there is no record {number} in {name}")
        elif "struck" in document:
            yield Problem(f"record {number} is struck out already")
