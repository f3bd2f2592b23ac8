"""What is told of some checks, by whichever door, and what of it is new to the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.doubts import Doubt, doubts_with
from rearlog.records.errors import Problem
from rearlog.records.fields import FIELDS
from rearlog.records.log import CohortLog, DayExtremes, Observation
from rearlog.records.rules import problems_with
from rearlog.records.wording import line_of, named, record_name


class Placed(Struct, frozen=True):
    """A check and where it stands in what brought it (empty: it is named by itself).

    `day_only`: its day was told, not its time.
    """

    check: Observation
    place: str = ""
    day_only: bool = False


class Incoming(Struct, frozen=True):
    """What is told at once: checks, the temperatures of days, and what could not be read."""

    checks: tuple[Placed, ...]
    days: tuple[DayExtremes, ...] = ()
    problems: tuple[Problem, ...] = ()


class NewChecks(Struct, frozen=True):
    """The checks that a log has not yet, all that keeps them, or what was told, out of it, and what
    is in doubt with them."""

    checks: list[Observation]
    problems: list[Problem]
    doubts: list[Doubt] = []


Source = Callable[[CohortLog], Incoming]
"""Tells what is to be recorded, given the log that it comes into."""


def telling(checks: Iterable[Observation]) -> Source:
    """The source of checks that do not hang on the log."""
    incoming = Incoming(tuple(map(Placed, checks)))
    return lambda _log: incoming


def new_checks(
    log: CohortLog,
    incoming: Incoming,
    now: datetime,
    *,
    pass_known: bool = True,
    strict: bool = False,
) -> NewChecks:
    """What of a round is new, the rules of the log included: with problems it is not to be taken.

    With `pass_known` a check is passed over if a record of that individual at that moment says all
    that it says. (Where only a day is told: at that moment, or earlier on that day. Today's check
    stands at present until the usual check time has come.)
    A check whose token a record of that individual has, struck or not, was told before and is
    passed over always.
    In `strict` entry doubts keep the round out as well.
    """
    problems = list(incoming.problems)
    new = _untold(log, incoming.checks)
    incoming = replace(incoming, checks=tuple(new))
    if pass_known:
        new = _unknown(log, incoming, problems)
    places = {named(each.check): each.place for each in new if each.place}
    added = [each.check for each in new]
    broken = problems_with(log, added, now)
    doubts = [] if broken or problems else doubts_with(log, added)
    doubts = [replace(each, place=places.get(each.place, each.place)) for each in doubts]
    problems += [
        Problem(each.message, places.get(each.place, each.place), each.remedy) for each in broken
    ]
    problems += [each.problem for each in doubts] if strict else []
    return NewChecks(added, problems, doubts)


def _untold(log: CohortLog, checks: Iterable[Placed]) -> list[Placed]:
    """The checks without those that a device tells once more, or twice at once."""
    told = list(checks)
    if not any(each.check.token for each in told):
        return told
    known = {(each.individual, each.token) for each in log.all_observations}
    new = []
    for each in told:
        name = each.check.individual, each.check.token
        if each.check.token is None or name not in known:
            new.append(each)
            known.add(name)
    return new


def _unknown(log: CohortLog, incoming: Incoming, problems: list[Problem]) -> list[Placed]:
    """The checks of which the log has none at their moment; contradictions go to `problems`."""
    day = log.cohort.clock.day
    known: dict[tuple[str, date], list[Observation]] = {}
    for code in dict.fromkeys(each.check.individual for each in incoming.checks):
        for check in log.checks.get(code, ()):
            known.setdefault((code, day(check.at)), []).append(check)
    new: list[Placed] = []
    for placed in incoming.checks:
        at = placed.check.at
        beside = [
            each
            for each in known.get((placed.check.individual, day(at)), ())
            if each.at == at or (placed.day_only and each.at < at)
        ]
        if any(_says_all(each, placed.check) for each in beside):
            continue
        by = placed.check.by
        contrary = next((each for each in beside if each.at == at and each.by == by), None)
        if contrary is None:
            new.append(placed)
        else:
            problems.append(_contradiction(contrary, placed))
    return new


_SAID = tuple(each.name for each in FIELDS if each.name not in ("individual", "at"))


def _says_all(record: Observation, check: Observation) -> bool:
    """Whether a record in the log says all that a check in a file says."""
    return all(
        (value := getattr(check, name)) is None or value is False or value == getattr(record, name)
        for name in _SAID
    )


def said_already(log: CohortLog, checks: Iterable[Observation]) -> list[Observation]:
    """The records that say all that some of the checks say, of the same moments."""
    return [
        record
        for check in checks
        for record in log.checks[check.individual]
        if (record.at, record.by) == (check.at, check.by) and _says_all(record, check)
    ]


def _contradiction(record: Observation, placed: Placed) -> Problem:
    number = record_name(record.number) if record.number else "another file"
    return Problem(
        f"{number} says “{line_of(record)}” of that moment, the file “{line_of(placed.check)}”",
        placed.place,
        "mend the file, or strike the record out",
    )
