"""From a cohort file to the log in it: at one go where it is sound, else record by record."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from operator import attrgetter
from pathlib import Path
from typing import TypeVar

from rearlog.records.columns import columns_of
from rearlog.records.errors import Problem, StoreError
from rearlog.records.fates import FATES
from rearlog.records.log import CohortLog, Individual, Observation, Temperature
from rearlog.records.rules import problems_of_individual
from rearlog.records.wording import record_name
from rearlog.store import codec
from rearlog.store.layout import Document, Table, Tables, first_of, no_collection, parsed
from rearlog.store.stored import StoredObservations

R = TypeVar("R")


def log_in(
    file: bytes | Tables, path: Path, codes: set[str] | None = None, *, temperatures: bool = True
) -> CohortLog:
    """The log in a file, given as bytes or tables.

    Its individuals keep their rules, and its checks name stages and fates that there are: the
    answers rely on that. Whether the checks keep the other rules is left to `verification`. Raises
    StoreError naming each record that cannot be read.

    With `codes` (folded to one case) it has every check of those individuals only, and of the
    others how they ended.
    """
    with no_collection():
        try:
            log = _read(file, codes, temperatures)
            problems: list[Problem] = []
        except codec.Misfit:  # record by record it can be told what is wrong
            tables = parsed(file, path) if isinstance(file, bytes) else file
            found, problems = gathered(tables, path, codes, temperatures=temperatures)
            if found is None:
                raise StoreError(first_of(problems)) from None
            log = found
        problems = problems or [*_unusable(log, path)]
    if problems:
        raise StoreError(first_of(problems))
    return log


def _read(file: bytes | Tables, codes: set[str] | None, temperatures: bool) -> CohortLog:
    """The log in a file of which everything is sound; raises Misfit for another."""
    found = codec.file_in(file, temperatures=temperatures)
    if len(found.cohort) != 1:
        raise codec.Misfit(f"there are {len(found.cohort)} cohorts in it")
    [(number, header)] = found.cohort.items()
    cohort = codec.cohort(header, counted(number))
    if not numbered(found.individuals):
        raise codec.Misfit("there are keys that are no numbers")
    individuals = tuple(map(codec.sound, found.individuals.values()))
    known = {each.code for each in individuals}
    if len({code.casefold() for code in known}) < len(individuals):
        raise codec.Misfit("a code is used twice")
    checks = found.observations
    if not numbered(checks):
        raise codec.Misfit("there are keys that are no numbers")
    if codes is not None:
        chosen = {code for code in known if code.casefold() in codes}
        checks = {
            number: each
            for number, each in checks.items()
            if each.individual in chosen or each.fate is not None
        }
    if not known.issuperset(map(attrgetter("individual"), checks.values())):
        raise codec.Misfit("there is a check of somebody else")
    kept = tuple(
        codec.numbered(codec.sound(each), counted(number))
        for number, each in (found.temperatures.items() if temperatures else ())
    )
    withdrawn = {each.code for each in individuals if each.struck is not None}
    theirs = {
        number: each
        for number, each in (checks.items() if withdrawn else ())
        if each.individual in withdrawn
    }
    if theirs:
        checks = {number: each for number, each in checks.items() if number not in theirs}
    return CohortLog(
        cohort,
        tuple(each for each in individuals if each.struck is None),
        StoredObservations(checks),
        kept,
        tuple(each for each in individuals if each.struck is not None),
        tuple(StoredObservations(theirs)),
    )


def numbered(table: Collection[str]) -> bool:
    """Whether the keys of a table are numbers as this program writes them."""
    return not table or (
        "".join(table).encode().isdigit()
        and min(table) >= "1"  # none is empty, or begins with 0
        and max(map(len, table)) <= codec.LONGEST_NUMBER
    )


def _unusable(log: CohortLog, path: Path) -> Iterator[Problem]:
    for individual in log.everybody:
        yield from problems_of_individual(log.cohort, individual)
    stages, fates = {None, *log.cohort.species.codes}, {None, *FATES}
    columns = columns_of(log)
    if stages.issuperset(columns["stage"].distinct) and fates.issuperset(columns["fate"].distinct):
        return
    for check in log.all_observations:
        if check.struck is None and not (check.stage in stages and check.fate in fates):
            told = f"{check.fate or check.stage} is no stage or fate"
            yield Problem(told, f"{path}, observations, {record_name(check.number)}")


def gathered(
    tables: Tables, path: Path, codes: set[str] | None = None, *, temperatures: bool = True
) -> tuple[CohortLog | None, list[Problem]]:
    """All that can be read as a log (None without a readable cohort), and what cannot."""
    problems: list[Problem] = []

    def each(name: str, table: Table, read: Callable[[Document, int], R]) -> Iterator[R]:
        for number, document in table.items():
            try:
                yield read(document, counted(number))
            except codec.Misfit as error:
                place = f"{path}, {name}, record {number[:20]}{_owner(document)}"
                problems.append(Problem(str(error), place))

    def observation(document: Document, number: int) -> Observation:
        found = codec.observation(document, number)
        if found.individual not in known:
            raise codec.Misfit(f"there is no individual {found.individual}")
        return found

    cohorts = tuple(each("cohort", tables.get("cohort", {}), codec.cohort))
    individuals = tuple(each("individuals", tables.get("individuals", {}), codec.individual))
    if len(cohorts) != 1:
        problems.append(Problem(f"there are {len(cohorts)} readable cohorts in it", str(path)))
    problems += _codes_used_twice(individuals, path)
    known = {one.code for one in individuals}
    checks = tables.get("observations", {})
    if codes is not None:
        checks = _concerning(checks, {code for code in known if code.casefold() in codes})
    withdrawn = tuple(one for one in individuals if one.struck is not None)
    codes_withdrawn = [one.code for one in withdrawn]
    theirs = {
        number: document
        for number, document in (checks.items() if withdrawn else ())
        if isinstance(document, dict) and document.get("individual") in codes_withdrawn
    }
    others = {number: each for number, each in checks.items() if number not in theirs}
    observations = tuple(each("observations", others, observation))
    kept: tuple[Temperature, ...] = ()
    if temperatures:
        kept = tuple(each("temperatures", tables.get("temperatures", {}), codec.temperature))
    if len(cohorts) != 1:
        return None, problems
    counting = tuple(one for one in individuals if one.struck is None)
    of_withdrawn = tuple(each("observations", theirs, observation))
    return CohortLog(cohorts[0], counting, observations, kept, withdrawn, of_withdrawn), problems


def _owner(document: object) -> str:
    """Whose record it is, for a message about one that cannot be read."""
    who = document.get("individual") if isinstance(document, dict) else None
    return f" of {who[:24]}" if isinstance(who, str) else ""


def _concerning(checks: Table, codes: set[str]) -> Table:
    """The checks of some individuals, and all that have a fate."""
    try:
        return {
            number: document
            for number, document in checks.items()
            if document["individual"] in codes or "fate" in document
        }
    except (AttributeError, KeyError, TypeError):  # not records: reading them all will tell
        return checks


def counted(number: str) -> int:
    """A record's number; Misfit for another text: `1` and `01` would be one number twice."""
    if (
        not (number.isascii() and number.isdecimal())
        or number[0] == "0"
        or len(number) > codec.LONGEST_NUMBER
    ):
        raise codec.Misfit("this is not a record number")
    return int(number)


def _codes_used_twice(individuals: tuple[Individual, ...], path: Path) -> Iterator[Problem]:
    seen: set[str] = set()
    for each in individuals:
        if each.code.casefold() in seen:
            yield Problem(f"the code {each.code} is used twice", f"{path}, individuals")
        seen.add(each.code.casefold())
