"""A log as it would be with some of its records struck out."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from rearlog.records.errors import Problem, RecordError
from rearlog.records.log import CohortLog, Observation, Struck, Temperature
from rearlog.records.rules import problems_with


def struck_out(
    log: CohortLog, observations: Collection[int], temperatures: Collection[int], struck: Struck
) -> CohortLog:
    """The log with these records struck out, by their numbers.

    Raises RecordError for numbers that are not there or are struck out already, and where records
    that stay could not be without them.
    """
    problems = [
        *_unfit(log.all_observations, observations, ""),
        *_unfit(log.all_temperatures, temperatures, "T"),
    ]
    if problems:
        raise RecordError(problems)
    problems = [
        Problem(
            f"it could not stay: {each.message}",
            each.place,
            "strike that record out too, or neither",
        )
        for each in problems_with(log, (), struck.at, without=observations)
    ]
    if problems:
        raise RecordError(problems)
    return replace(
        log,
        all_observations=tuple(
            replace(each, struck=struck) if each.number in observations else each
            for each in log.all_observations
        ),
        all_temperatures=tuple(
            replace(each, struck=struck) if each.number in temperatures else each
            for each in log.all_temperatures
        ),
    )


def _unfit(
    records: Collection[Observation] | Collection[Temperature],
    numbers: Collection[int],
    letter: str,
) -> Iterator[Problem]:
    known = {each.number: each for each in records}
    for number in numbers:
        if number not in known:
            remedy = "“rearlog history” shows the numbers"
            yield Problem(f"there is no record {letter}{number}", remedy=remedy)
        elif (mark := known[number].struck) is not None:
            yield Problem(f"record {letter}{number} is struck out already: {mark.because}")
