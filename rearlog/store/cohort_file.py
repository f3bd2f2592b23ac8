"""One cohort, one file: starting it, reading it, adding records, striking them out."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from tinydb import TinyDB

from rearlog.records.errors import Problem, RecordError, StoreError, UsageError
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Observation,
    Struck,
    Temperature,
    time_order,
)
from rearlog.records.rules import problems_of
from rearlog.store import codec
from rearlog.store.storage import CohortStorage, Tables

NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")


def find(cohort: str) -> Path:
    """The file of a cohort given as a path, or as a name in `$REARLOG_DIR` (or this folder)."""
    if cohort.endswith(".json") or os.sep in cohort:
        return Path(cohort)
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

    def create(self, cohort: Cohort, individuals: Iterable[Individual]) -> None:
        """Write a new file; raises StoreError where there is one already."""
        with self._storage.transaction(create=True):
            tables = self._tables()
            tables.table("cohort").insert(codec.to_document(cohort))
            tables.table("individuals").insert_multiple(map(codec.to_document, individuals))

    def read(self) -> CohortLog:
        """The whole log."""
        return decode_log(self._storage.read(), self.path)

    def add_individuals(self, individuals: Sequence[Individual]) -> None:
        """Add individuals; raises RecordError where a code is taken."""
        with self._storage.transaction() as tables:
            taken = {each["code"].casefold() for each in tables.get("individuals", {}).values()}
            problems = []
            for each in individuals:
                if each.code.casefold() in taken:
                    problems.append(Problem(f"{each.code} is in this cohort already"))
                taken.add(each.code.casefold())
            if problems:
                raise RecordError(problems)
            documents = map(codec.to_document, individuals)
            self._tables().table("individuals").insert_multiple(documents)

    def outline(self, codes: Iterable[str] | None = None) -> CohortLog:
        """The log with the observations of only some individuals, and no temperatures."""
        tables = self._storage.read()
        return _outline(tables, self.path, None if codes is None else set(codes))

    def add_observations(
        self, observations: Sequence[Observation], now: datetime
    ) -> list[Observation]:
        """Add a round and return it with its numbers.

        Raises RecordError with every rule that it breaks; then nothing is written.
        """
        with self._storage.transaction() as tables:
            log = _outline(tables, self.path, {each.individual for each in observations})
            check_round(log, observations, now)
            documents = [codec.to_document(replace(each, entered=now)) for each in observations]
            numbers = self._tables().table("observations").insert_multiple(documents)
        return [
            replace(each, number=number, entered=now)
            for each, number in zip(observations, numbers, strict=True)
        ]

    def add_temperatures(self, temperatures: Sequence[Temperature], now: datetime) -> list[int]:
        """Add temperature records and return their numbers."""
        with self._storage.transaction():
            documents = [codec.to_document(replace(each, entered=now)) for each in temperatures]
            return self._tables().table("temperatures").insert_multiple(documents)

    def strike(
        self,
        observations: Iterable[int],
        temperatures: Iterable[int],
        struck: Struck,
    ) -> None:
        """Strike records out by their numbers.

        Raises RecordError for numbers that are not there or struck already, and where the
        records that stay would break a rule without them.
        """
        wanted = {"observations": tuple(observations), "temperatures": tuple(temperatures)}
        with self._storage.transaction() as tables:
            problems = []
            for table, numbers in wanted.items():
                for number in numbers:
                    document = tables.get(table, {}).get(str(number))
                    if document is None:
                        problems.append(Problem(f"there is no record {number} in {table}"))
                    elif "struck" in document:
                        problems.append(Problem(f"record {number} is struck out already"))
            if problems:
                raise RecordError(problems)
            mark = codec.struck_document(struck)
            for table, numbers in wanted.items():
                if numbers:
                    self._tables().table(table).update({"struck": mark}, doc_ids=list(numbers))
            codes = {
                tables["observations"][str(number)]["individual"]
                for number in wanted["observations"]
            }
            check_round(_outline(tables, self.path, codes), (), struck.at)

    def _tables(self) -> TinyDB:
        """TinyDB over the transaction's tables in memory."""
        return TinyDB(storage=lambda: self._storage)


def check_round(log: CohortLog, added: Sequence[Observation], now: datetime) -> None:
    """Raise RecordError with every rule broken by the log once `added` stands in it."""
    of_individual: dict[str, list[Observation]] = {code: [] for code in log.checks}
    problems: list[Problem] = []
    for each in added:
        if each.individual in of_individual:
            of_individual[each.individual].append(each)
        else:
            problems.append(Problem(f"no individual {each.individual} in this cohort"))
    for code, new in of_individual.items():
        checks = sorted([*log.checks[code], *new], key=time_order)
        problems += problems_of(log.cohort.species, log.by_code[code], checks, now)
    if problems:
        raise RecordError(problems)


def decode_log(tables: Tables, path: Path) -> CohortLog:
    """The log in a file's tables; raises StoreError where a record has not its shape."""
    outline = _outline(tables, path, None)
    try:
        temperatures = tuple(
            codec.temperature(document, int(number))
            for number, document in tables.get("temperatures", {}).items()
        )
    except (KeyError, TypeError, ValueError) as error:
        raise StoreError(
            f"{path} holds a temperature record that cannot be read: {error}"
        ) from None
    return replace(outline, all_temperatures=temperatures)


def _outline(tables: Tables, path: Path, codes: set[str] | None) -> CohortLog:
    try:
        cohort = codec.cohort(tables["cohort"]["1"])
        individuals = tuple(map(codec.individual, tables.get("individuals", {}).values()))
        observations = tuple(
            codec.observation(document, int(number))
            for number, document in tables.get("observations", {}).items()
            if codes is None or document["individual"] in codes
        )
    except (KeyError, TypeError, ValueError) as error:
        raise StoreError(f"{path} holds a record that cannot be read: {error}") from None
    known = {each.code for each in individuals}
    strangers = {each.individual for each in observations} - known
    if strangers:
        raise StoreError(
            f"{path} has checks of unknown individuals: {', '.join(sorted(strangers))}"
        )
    return CohortLog(cohort, individuals, observations)
