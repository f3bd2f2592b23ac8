"""What a file of checks says, and what of it is new to the log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog, DayExtremes, Observation, time_order
from rearlog.records.rules import problems_of
from rearlog.records.wording import line_of, named


@dataclass(frozen=True, slots=True)
class Placed:
    """A check and where it stands in its file. `day_only`: the file tells its day, not its time."""

    check: Observation
    place: str
    day_only: bool = False


@dataclass(frozen=True, slots=True)
class Incoming:
    """What one file says: its checks, its days' temperatures, and the cells it has wrong."""

    checks: tuple[Placed, ...]
    days: tuple[DayExtremes, ...] = ()
    problems: tuple[Problem, ...] = ()


def new_checks(log: CohortLog, incoming: Incoming, now: datetime) -> tuple[list[Observation], int]:
    """The checks that the log does not have yet, and how many it has already.

    A check is there already if a record of that individual at that moment says all that the file
    says. (Where the file tells only a day: at that moment, or earlier on that day. Today's check
    stands at present until the usual check time has come.) Raises ImportRefused with the file's
    bad cells, with those that contradict the log, and with every rule that would be broken.
    """
    zone = ZoneInfo(log.cohort.zone)

    def day(check: Observation) -> date:
        return check.at.astimezone(zone).date()

    known: dict[tuple[str, date], list[Observation]] = {}
    for code, checks in log.checks.items():
        for check in checks:
            known.setdefault((code, day(check)), []).append(check)
    problems = list(incoming.problems)
    new: list[Placed] = []
    for placed in incoming.checks:
        at = placed.check.at
        beside = [
            each
            for each in known.get((placed.check.individual, day(placed.check)), ())
            if each.at == at or (placed.day_only and each.at < at)
        ]
        if any(_says_all(each, placed.check) for each in beside):
            continue
        contrary = next((each for each in beside if each.at == at), None)
        if contrary is None:
            new.append(placed)
        else:
            problems.append(_contradiction(contrary, placed))
    problems += _broken_rules(log, new, now)
    if problems:
        raise ImportRefused(problems)
    return [placed.check for placed in new], len(incoming.checks) - len(new)


_SAID = (
    *("stage", "fate", "cause", "witnessed", "length_mm", "head_width_mm", "mass_mg"),
    *("sex", "by", "note"),
)


def _says_all(record: Observation, check: Observation) -> bool:
    """Whether a record in the log says all that a check in a file says."""
    return all(getattr(check, name) in (None, False, getattr(record, name)) for name in _SAID)


def _contradiction(record: Observation, placed: Placed) -> Problem:
    number = f"record {record.number}" if record.number else "another file"
    return Problem(
        f"{number} says “{line_of(record)}” of that moment, the file “{line_of(placed.check)}”",
        placed.place,
        "mend the file, or strike the record out",
    )


def _broken_rules(log: CohortLog, new: list[Placed], now: datetime) -> list[Problem]:
    """The rules that the log would break with the new checks, at the places in the file."""
    added: dict[str, list[Observation]] = {}
    for placed in new:
        added.setdefault(placed.check.individual, []).append(placed.check)
    places = {named(placed.check): placed.place for placed in new}
    return [
        Problem(problem.message, places.get(problem.place, problem.place), problem.remedy)
        for code, checks in added.items()
        for problem in problems_of(
            log.cohort.species,
            log.by_code[code],
            sorted([*log.checks[code], *checks], key=time_order),
            now,
        )
    ]
