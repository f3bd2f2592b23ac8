"""A log as it would be with some of its records struck out, or taken back after that."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import TypeVar

from msgspec.structs import replace

from rearlog.records.command_text import CommandText
from rearlog.records.errors import Problem, RecordError
from rearlog.records.log import CohortLog, Mark, Observation, Temperature
from rearlog.records.rules import problems_with
from rearlog.records.temperature_rules import contradictions
from rearlog.records.wording import record_name

R = TypeVar("R", bound=Observation | Temperature)


def struck_out(
    log: CohortLog, observations: Collection[int], temperatures: Collection[int], mark: Mark
) -> CohortLog:
    """The log with these records struck out, by their numbers.

    Raises RecordError for numbers that are not there or are struck out already.
    """
    _refuse(log, observations, temperatures, struck=False)
    return _marked(log, observations, temperatures, mark)


def taken_back(
    log: CohortLog, observations: Collection[int], temperatures: Collection[int], mark: Mark
) -> CohortLog:
    """The log with the striking out of these records taken back: they count again.

    Raises RecordError for numbers that are not there or not struck out, and for records that the
    rules refuse beside those that came since.
    """
    _refuse(log, observations, temperatures, struck=True)
    mark = replace(mark, back=True)
    again = [each for each in log.all_observations if each.number in observations]
    after = _marked(log, observations, temperatures, mark)
    problems = [*problems_with(log, again, mark.at), *contradictions(after.all_temperatures)]
    if problems:
        raise RecordError(problems)
    return after


def _marked(
    log: CohortLog, observations: Collection[int], temperatures: Collection[int], mark: Mark
) -> CohortLog:
    return replace(
        log,
        all_observations=tuple(_with(log.all_observations, observations, mark)),
        all_temperatures=tuple(_with(log.all_temperatures, temperatures, mark)),
    )


def _with(records: Iterable[R], numbers: Collection[int], mark: Mark) -> Iterator[R]:
    for each in records:
        yield replace(each, marks=(*each.marks, mark)) if each.number in numbers else each


def _refuse(
    log: CohortLog, observations: Collection[int], temperatures: Collection[int], *, struck: bool
) -> None:
    problems = [
        *_unfit(log.all_observations, observations, "", struck),
        *_unfit(log.all_temperatures, temperatures, "T", struck),
    ]
    if problems:
        raise RecordError(problems)


def _unfit(
    records: Collection[Observation] | Collection[Temperature],
    numbers: Collection[int],
    letter: str,
    struck: bool,
) -> Iterator[Problem]:
    known = {each.number: each for each in records}
    for number in numbers:
        if number not in known:
            remedy = CommandText(
                "“rearlog history” shows the numbers", "the list shows the numbers"
            )
            yield Problem(f"there is no record {record_name(number, letter)}", remedy=remedy)
        elif (mark := known[number].struck) is not None and not struck:
            yield Problem(f"{record_name(number, letter)} is struck out already: {mark.because}")
        elif mark is None and struck:
            yield Problem(f"{record_name(number, letter)} is not struck out")
