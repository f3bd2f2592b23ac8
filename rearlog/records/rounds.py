"""Rounds: the checks of one day that were written down together."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from msgspec import Struct

from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Observation,
    Temperature,
)
from rearlog.records.wording import line_of

Moment = tuple[datetime, date]
"""When a round was entered, and the day that it is of. A file may bring several days, and a page
that was tapped has a time for each individual."""


class WrittenRound(Struct, frozen=True):
    """One round: when it was entered, when it began, who looked, the records' numbers.

    `struck` of its `records` are struck out. In `changed` of those that stand a stage or fate was
    new; `changes` are these as a line of the notation.
    """

    entered: datetime
    at: datetime
    by: str | None
    records: int
    struck: int
    first_record: int | None
    last_record: int | None
    changed: int
    changes: str


def moment_of(observation: Observation) -> Moment:
    """What the records of one round have in common, and by which rounds follow each other."""
    return observation.entered or observation.at, observation.at.date()


def rounds_of(
    log: CohortLog, observations: Iterable[Observation] | None = None
) -> list[WrittenRound]:
    """The rounds of a log, or those that some of its observations belong to, in order of entry."""
    together: dict[Moment, list[Observation]] = {}
    for each in log.all_observations if observations is None else observations:
        together.setdefault(moment_of(each), []).append(each)
    new = _changes(log)
    return [_round(moment, together[moment], new) for moment in sorted(together)]


def _round(moment: Moment, records: list[Observation], new: set[Observation]) -> WrittenRound:
    numbers = [each.number for each in records if each.number is not None]
    changes = [line_of(each) for each in records if each in new]
    return WrittenRound(
        entered=moment[0],
        at=min(each.at for each in records),
        by=", ".join(sorted({each.by for each in records if each.by})) or None,
        records=len(records),
        struck=sum(1 for each in records if each.struck is not None),
        first_record=min(numbers, default=None),
        last_record=max(numbers, default=None),
        changed=len(changes),
        changes="; ".join(changes),
    )


def _changes(log: CohortLog) -> set[Observation]:
    """The observations that stand and show a stage or fate that the one before did not."""
    found = set()
    for code, checks in log.checks.items():
        stage = log.by_code[code].stage
        for check in checks:
            if check.fate is not None or check.stage not in (None, stage):
                found.add(check)
            stage = check.stage or stage
    return found


def last_round(log: CohortLog) -> list[Observation]:
    """The records that stand of the latest round of which any do."""
    latest = max(map(moment_of, log.observations), default=None)
    return [each for each in log.observations if moment_of(each) == latest]


def records_of(
    log: CohortLog,
    individual: str | None = None,
    last: int | None = None,
    on: date | None = None,
) -> tuple[tuple[Observation, ...], tuple[Temperature, ...]]:
    """Observations and temperatures in the order of writing, struck ones included.

    `individual` takes those of one individual (and no temperatures), `last` those entered in and
    since that many rounds, `on` those of one calendar day.
    """
    clock = log.cohort.clock
    moments = sorted(set(map(moment_of, log.all_observations)))
    since = moments[-last] if last is not None and last < len(moments) else None
    observations = tuple(
        each
        for each in log.all_observations
        if (individual is None or each.individual == individual)
        and (since is None or moment_of(each) >= since)
        and (on is None or clock.day(each.at) == on)
    )
    temperatures = tuple(
        each
        for each in log.all_temperatures
        if individual is None
        and (since is None or (each.entered is not None and each.entered >= since[0]))
        and (on is None or _is_of(each, on))
    )
    return observations, temperatures


def _is_of(record: Temperature, day: date) -> bool:
    if isinstance(record, DayExtremes):
        return record.date == day
    if isinstance(record, ConstantTemperature):
        return record.first <= day and (record.last is None or day <= record.last)
    begin = record.at.timestamp()
    zone = record.at.tzinfo
    last = datetime.fromtimestamp(begin + record.seconds[-1], zone)
    return record.at.date() <= day <= last.date()
