"""One cohort, one file: starting it, reading it, adding records, striking them out and back."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.doubts import Doubt, doubts_with
from rearlog.records.errors import Problem, RearlogError, RecordError
from rearlog.records.factors import origin
from rearlog.records.incoming import Source, new_checks
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Mark,
    Observation,
    Temperature,
)
from rearlog.records.rules import problems_of_individual
from rearlog.records.starting import check_name, check_site
from rearlog.records.striking import struck_out, taken_back
from rearlog.records.temperature_overlap import new_temperatures
from rearlog.store import codec
from rearlog.store.durable import target_of, unfinished_redaction
from rearlog.store.layout import Table, no_collection
from rearlog.store.reading import log_in
from rearlog.store.storage import CohortStorage

if TYPE_CHECKING:
    from rearlog.store.merging import Merge


class Recorded(Struct, frozen=True):
    """What a round brought, and how much of it the log had `already`.

    Its checks have their numbers, unless it was only tried. `doubts` are those that it raises.
    """

    checks: list[Observation]
    days: list[Temperature]
    already: int
    doubts: list[Doubt]


class CohortFile:
    """The file of one cohort.

    Whatever writes takes what was said, and reads, checks and writes under one lock: what somebody
    read before it is out of date, and never relied on.

    Only what a call needs is turned into records, so that one entry is quick in a long log.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._storage = CohortStorage(self.path)
        self._outlined: tuple[set[str] | None, CohortLog] | None = None

    @contextlib.contextmanager
    def held(self, *, create: bool = False) -> Iterator[None]:
        """Keep others from writing between what is read and what is written inside.

        What is written inside is saved at the end, all of it or, after an error, nothing. A
        redaction that was stopped is finished before.
        """
        if not self.is_held and os.path.lexists(unfinished_redaction(target_of(self.path))):
            from rearlog.store.redacting import finish_stopped  # start-up time

            finish_stopped(self.path)
        with self._storage.transaction(create=create):
            try:
                yield
            finally:
                self._outlined = None

    @property
    def is_held(self) -> bool:
        """Whether others are kept from writing."""
        return self._storage.held

    def create(self, cohort: Cohort, individuals: Iterable[Individual]) -> None:
        """Write a new file; raises StoreError where there is one already."""
        with self.held(create=True):
            self._insert("cohort", [cohort])
            self._insert("individuals", _admitted([], individuals, cohort))

    def read(self) -> CohortLog:
        """The whole log; raises StoreError where it cannot be read or trusted."""
        with no_collection():
            return log_in(self._storage.as_it_is(), self.path)

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
        storage = self._storage
        found = storage.as_it_is() if chosen is None else storage.read_some(chosen)
        log = log_in(found, self.path, chosen, temperatures=False)
        if self._storage.held:
            self._outlined = chosen, log
        return log

    def add_individuals(self, individuals: Sequence[Individual]) -> None:
        """Add individuals; raises RecordError where a code is taken or a rule is broken."""
        with self.held():
            log = self.outline(())
            self._insert(
                "individuals",
                _admitted(log.everybody, individuals, log.cohort),
            )

    def describe(
        self,
        factors: Mapping[str, str],
        origins: Sequence[str] = (),
        *,
        place: str | None = None,
        food: str | None = None,
        planned_celsius: float | None = None,
        site: str | None = None,
        latitude: float | None = None,
        longitude: float | None = None,
    ) -> Cohort:
        """Say afterwards what sets the cohort apart; returns it as it was before.

        A factor that it has gets the level that is said now; origins, where there are any, are put
        in the place of those that it has, and so are site, place, food and temperature. Raises
        RecordError for a factor known by another spelling and for a cohort that would come from
        itself.
        """
        check_site(site, latitude, longitude)
        with self.held():
            before = self.outline(()).cohort
            known = {each.casefold(): each for each in before.factors}
            problems = [
                Problem(f"the factor {name} is spelt {known[name.casefold()]} here")
                for name in factors
                if known.get(name.casefold(), name) != name
            ]
            if before.name in {origin(each).cohort for each in origins}:
                problems.append(Problem(f"{before.name} cannot come from itself"))
            if problems:
                raise RecordError(problems)
            told: dict[str, Any] = {
                "origins": tuple(origins) or None,
                "place": place,
                "food": food,
                "planned_celsius": planned_celsius,
                "site": site,
                "latitude": latitude,
                "longitude": longitude,
            }
            said = {name: value for name, value in told.items() if value is not None}
            self._put_cohort(replace(before, factors={**before.factors, **factors}, **said))
        return before

    def rename(self, name: str) -> Cohort:
        """Give the cohort another label; the file stays where it is. Returns it as it was before.

        Raises UsageError for what is no label, RecordError for that of a cohort it comes from.
        """
        check_name(name)
        with self.held():
            before = self.outline(()).cohort
            if name in {origin(each).cohort for each in before.origins}:
                raise RecordError(f"{name} cannot come from itself", "it is what it comes from")
            self._put_cohort(replace(before, name=name))
        return before

    def _put_cohort(self, cohort: Cohort) -> None:
        table = self._table("cohort")
        self._put("cohort", table, dict.fromkeys(table, codec.to_document(cohort)))

    def record(
        self,
        sources: Iterable[Source],
        now: datetime,
        codes: Iterable[str] | None = None,
        *,
        pass_known: bool = False,
        dry_run: bool = False,
        strict: bool = False,
        refusal: type[RearlogError] = RecordError,
    ) -> Recorded:
        """Take a round into the log: the one door by which looks enter, whoever tells them.

        Each source tells its part, given the log as it stands with the parts before it; nobody
        else can write meanwhile. `codes` are those whom the round concerns (None: anybody). With
        `pass_known` what the log has already is passed over; `strict` refuses doubts. Raises a
        `refusal` with all that cannot be taken; then, and in a `dry_run`, nothing is written.
        """
        with contextlib.nullcontext() if dry_run else self.held():
            found = self._sifted(sources, now, codes, pass_known, strict, refusal)
            if dry_run:
                return found
            before = self.outline(codes)
            checks = [replace(each, entered=now) for each in found.checks]
            numbers = self._insert("observations", checks)
            days = [replace(each, entered=now) for each in found.days]
            self._insert("temperatures", days)
        numbered = [replace(each, number=no) for each, no in zip(checks, numbers, strict=True)]
        doubts = doubts_with(before, numbered) if found.doubts else []
        return replace(found, checks=numbered, doubts=doubts)

    def _sifted(
        self,
        sources: Iterable[Source],
        now: datetime,
        codes: Iterable[str] | None,
        pass_known: bool,
        strict: bool,
        refusal: type[RearlogError],
    ) -> Recorded:
        log = self.outline(codes)
        checks: list[Observation] = []
        days: list[Temperature] = []
        problems: list[Problem] = []
        doubts: list[Doubt] = []
        told = 0
        for source in sources:
            incoming = source(log)
            new = new_checks(log, incoming, now, pass_known=pass_known, strict=strict)
            problems += new.problems
            checks += new.checks
            doubts += new.doubts
            days += incoming.days
            told += len(incoming.checks) + len(incoming.days)
            log = log.with_checks(new.checks)
        if days:
            days, contrary = new_temperatures(self._temperatures(), days)
            problems += contrary
        if problems:
            raise refusal(problems)
        return Recorded(checks, days, told - len(checks) - len(days), doubts)

    def add_temperatures(
        self, temperatures: Sequence[Temperature], now: datetime
    ) -> list[Temperature]:
        """Add temperature records, less what the log has already; returns what was added.

        Raises RecordError with all that cannot be, or contradicts the log.
        """
        from rearlog.records.temperature_rules import problems_of_temperature  # start-up time

        problems = [problem for each in temperatures for problem in problems_of_temperature(each)]
        with self.held():
            added, contrary = new_temperatures(self._temperatures(), temperatures)
            if problems or contrary:
                raise RecordError([*problems, *contrary])
            written = [replace(each, entered=now) for each in added]
            numbers = self._insert("temperatures", written)
        return [replace(each, number=no) for each, no in zip(written, numbers, strict=True)]

    def strike(
        self, observations: Collection[int], temperatures: Collection[int], mark: Mark
    ) -> None:
        """Strike records out by their numbers.

        Raises RecordError for numbers that are not there or struck already.
        """
        with self.held():
            after = struck_out(self.read(), observations, temperatures, mark)
            self._mark("observations", _marks_of(after.all_observations, observations))
            self._mark("temperatures", _marks_of(after.all_temperatures, temperatures))

    def take_back(
        self, observations: Collection[int], temperatures: Collection[int], mark: Mark
    ) -> None:
        """Take back that records were struck out, by their numbers: they count again.

        Raises RecordError for numbers that are not there or not struck out, and for records that
        the rules refuse beside those that came since.
        """
        with self.held():
            after = taken_back(self.read(), observations, temperatures, mark)
            self._mark("observations", _marks_of(after.all_observations, observations))
            self._mark("temperatures", _marks_of(after.all_temperatures, temperatures))

    def withdraw(self, codes: Collection[str], mark: Mark) -> None:
        """Withdraw individuals that were entered by mistake: neither they nor their checks count.

        With a mark that says `back`, this is taken back. Raises RecordError for codes that are not
        there, or are so already.
        """
        with self.held():
            log = self.outline(())
            here, other = log.individuals, log.withdrawn
            if mark.back:
                here, other = other, here
            found = {each.code: each for each in here}
            known = {each.code for each in other}
            already = "is not withdrawn" if mark.back else "is withdrawn already"
            problems = [
                Problem(f"{code} {already}" if code in known else f"there is no individual {code}")
                for code in codes
                if code not in found
            ]
            if problems:
                raise RecordError(problems)
            self._mark_individuals({code: (*found[code].marks, mark) for code in codes})

    def merge(self, copy: Path, now: datetime) -> Merge:
        """Take over what a copy of the cohort has and this file has not; the copy stays as it is.

        The pictures of its looks come first. Raises RecordError with everything in which the two
        contradict each other.
        """
        from rearlog.store.merging import compare  # start-up time
        from rearlog.store.photos import fetch, names_in

        other = CohortFile(copy)
        theirs = other.read()
        with self.held():
            if self._table("redactions") != other._table("redactions"):
                raise RecordError(
                    "what was redacted in one copy may still stand in the other",
                    "redact first, then copy the file; copies made before cannot be merged",
                )
            ours = self.read()
            brought = compare(ours, theirs, now)
            if brought.cohort != ours.cohort:
                self._put_cohort(brought.cohort)
            fetch(self.path, copy, dict.fromkeys((*names_in(ours), *names_in(theirs))))
            self._insert("individuals", brought.individuals)
            self._insert("observations", brought.observations.added)
            self._insert("temperatures", brought.temperatures.added)
            self._mark_individuals(brought.withdrawn)
            self._mark("observations", brought.observations.marks)
            self._mark("temperatures", brought.temperatures.marks)
        return brought

    def _temperatures(self) -> list[Temperature]:
        """The temperature records that stand."""
        table = self._table("temperatures")
        try:
            found = [codec.temperature(each, int(number)) for number, each in table.items()]
        except (ValueError, codec.Misfit):
            found = list(self.read().all_temperatures)  # which tells what is wrong
        return [each for each in found if each.struck is None]

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

    def _mark_individuals(self, marks: Mapping[str, Sequence[Mark]]) -> None:
        table = self._table("individuals")
        numbers = {document["code"]: int(number) for number, document in table.items()}
        self._mark("individuals", {numbers[code]: each for code, each in marks.items()})

    def _mark(self, name: str, marks: Mapping[int, Sequence[Mark]]) -> None:
        """Give records these marks in place of those that they have."""
        table = self._table(name)
        marked = {
            str(number): codec.marked_document(table[str(number)], added)
            for number, added in marks.items()
        }
        self._put(name, table, marked)

    def _table(self, name: str) -> Table:
        return self._storage.read().get(name, {})

    def _put(self, name: str, table: Table, documents: Table) -> None:
        """Put documents into a copy of a table: logs that were read before keep what they have."""
        if documents:
            self._storage.write(self._storage.read() | {name: table | documents})
            self._outlined = None


def _marks_of(
    records: Iterable[Observation | Temperature], numbers: Collection[int]
) -> dict[int, tuple[Mark, ...]]:
    return {
        each.number: each.marks
        for each in records
        if each.number is not None and each.number in numbers
    }


def _free_numbers(table: Table, count: int) -> list[int]:
    """The numbers for new documents: records are never taken out, so they follow on."""
    numbers = range(len(table) + 1, len(table) + 1 + count)
    if any(str(number) in table for number in numbers):  # the file was laid out by hand
        highest = max(int(number) for number in table if number.isdecimal())
        numbers = range(highest + 1, highest + 1 + count)
    return list(numbers)


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
