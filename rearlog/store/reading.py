"""From the tables of a cohort file to the log in them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from rearlog.records.errors import Problem, StoreError
from rearlog.records.fates import FATES
from rearlog.records.log import CohortLog, Individual, Observation, Temperature
from rearlog.records.looks import looks_of_log
from rearlog.records.rules import problems_of_individual
from rearlog.records.wording import record_name
from rearlog.store import codec
from rearlog.store.layout import Document, Table, Tables, first_of, no_collection
from rearlog.store.stored import stored

R = TypeVar("R")


def log_in(
    tables: Tables, path: Path, codes: set[str] | None = None, *, temperatures: bool = True
) -> CohortLog:
    """The log in a file's tables; raises StoreError naming each record that cannot be read.

    Its individuals keep their rules, and its checks name stages and fates that there are: the
    answers rely on that. Whether the checks keep the other rules is left to `verification`.

    With `codes` (folded to one case) it has every check of those individuals only, and of the
    others how they ended.
    """
    with no_collection():
        log, problems = gathered(tables, path, codes, temperatures=temperatures)
        if log is not None and not problems:
            problems += _unusable(log, path)
    if log is None or problems:
        raise StoreError(first_of(problems))
    return log


def _unusable(log: CohortLog, path: Path) -> Iterator[Problem]:
    for individual in (*log.individuals, *log.withdrawn):
        yield from problems_of_individual(log.cohort, individual)
    stages, fates = {None, *log.cohort.species.codes}, {None, *FATES}
    looks = looks_of_log(log)
    if stages.issuperset(looks.stage.distinct) and fates.issuperset(looks.fate.distinct):
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
                yield read(document, _counted(number))
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
    checks, theirs = _apart(checks, {one.code for one in withdrawn})
    observations: Sequence[Observation] | None = stored(checks, known)
    if observations is None:
        observations = tuple(each("observations", checks, observation))
    kept: tuple[Temperature, ...] = ()
    if temperatures:
        kept = tuple(each("temperatures", tables.get("temperatures", {}), codec.temperature))
    if len(cohorts) != 1:
        return None, problems
    counting = tuple(one for one in individuals if one.struck is None)
    of_withdrawn = tuple(each("observations", theirs, observation))
    return CohortLog(cohorts[0], counting, observations, kept, withdrawn, of_withdrawn), problems


def _apart(checks: Table, codes: Collection[str]) -> tuple[Table, Table]:
    """The checks of those who count, and those of individuals that were withdrawn."""
    theirs = {
        number: document
        for number, document in (checks.items() if codes else ())
        if isinstance(document, dict) and document.get("individual") in codes
    }
    if not theirs:
        return checks, {}
    return {number: each for number, each in checks.items() if number not in theirs}, theirs


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


def _counted(number: str) -> int:
    """A record's number; `1` and `01` would be one number twice."""
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
