"""What a file of checks says, and what of it is new to the log."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from rearlog.records.errors import ImportRefused, Problem
from rearlog.records.log import CohortLog, DayExtremes, Observation, time_order
from rearlog.records.rules import problems_of
from rearlog.records.wording import line_of, named


@dataclass(frozen=True, slots=True)
class Placed:
    """A check and where it stands in its file."""

    check: Observation
    place: str


@dataclass(frozen=True, slots=True)
class Incoming:
    """What one file says: its checks, its days' temperatures, and the cells that cannot be taken.

    `by_day`: the file tells the day of a check, not its time.
    """

    checks: tuple[Placed, ...]
    days: tuple[DayExtremes, ...] = ()
    problems: tuple[Problem, ...] = ()
    by_day: bool = False


def new_checks(log: CohortLog, incoming: Incoming, now: datetime) -> tuple[list[Observation], int]:
    """The checks that the log does not have yet, and how many it has already.

    A check is there already if the log has one of that individual, at that moment (where the file
    tells days only: on that day), which says all that the file says. Raises ImportRefused with
    the file's bad cells, with those that contradict the log, and with every rule that would be
    broken.
    """
    zone = ZoneInfo(log.cohort.zone)

    def key(check: Observation) -> Hashable:
        return check.at.astimezone(zone).date() if incoming.by_day else check.at

    known: dict[tuple[str, Hashable], list[Observation]] = {}
    for code, checks in log.checks.items():
        for check in checks:
            known.setdefault((code, key(check)), []).append(check)
    problems = list(incoming.problems)
    new: list[Placed] = []
    for placed in incoming.checks:
        beside = known.get((placed.check.individual, key(placed.check)), ())
        if any(_says_all(each, placed.check) for each in beside):
            continue
        contrary = next((each for each in beside if each.at == placed.check.at), None)
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
