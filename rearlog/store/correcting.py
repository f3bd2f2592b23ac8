"""Saying anew which stage an individual was in: old records struck out and new ones written."""

from __future__ import annotations

import contextlib
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.command_text import CommandText
from rearlog.records.entries import SAME, shortened
from rearlog.records.errors import RecordError, UsageError
from rearlog.records.fields import NUMBERS
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, Mark, Observation
from rearlog.records.rules import problems_with
from rearlog.records.striking import struck_out
from rearlog.records.wording import record_name
from rearlog.store.cohort_file import CohortFile


class Correction(Struct, frozen=True):
    """The calls that were wrong, and what is said in their place, one for one."""

    old: list[Observation]
    new: list[Observation]


def correct(
    file: CohortFile,
    code: str,
    stage: str,
    days: tuple[date, date],
    mark: Mark,
    now: datetime,
    *,
    dry_run: bool = False,
) -> Correction:
    """Say of an individual that it was in a stage on some days, in one step; or try it.

    `mark` says why, and who. Raises UsageError where nobody said otherwise, RecordError where the
    rules refuse what is said now; then nothing changes.
    """
    with contextlib.nullcontext() if dry_run else file.held():
        log = file.read()
        if "=" in stage:
            raise _of_a_number(log, code, stage, days)
        stage = log.cohort.species.code_of(stage)
        old = _other_calls(log, code, stage, days)
        new = [
            replace(
                each,
                stage=stage,
                by=mark.by or each.by,
                number=None,
                marks=(),
                token=None,
            )
            for each in old
        ]
        numbers = [each.number for each in old if each.number is not None]
        if not dry_run:
            file.strike(numbers, [], mark)
            return Correction(old, file.record([telling(new)], now, [old[0].individual]).checks)
    if problems := problems_with(struck_out(log, numbers, [], mark), new, now):
        raise RecordError(problems)
    return Correction(old, new)


def _of_a_number(log: CohortLog, code: str, said: str, days: tuple[date, date]) -> UsageError:
    """That a count or a measure is not corrected, and the commands that put it right instead."""
    words = said if "=" not in said.split()[0] else f"{SAME} {said}"
    day = log.cohort.clock.day
    wrong = [
        each
        for each in log.checks.get(code, ())
        if days[0] <= day(each.at) <= days[1]
        and any(getattr(each, number.name) is not None for number in NUMBERS)
    ]
    record = record_name(wrong[0].number) if wrong else "RECORD"
    when = wrong[0].at.strftime("%Y-%m-%dT%H:%M") if wrong else days[0].isoformat()
    name = log.cohort.name
    return UsageError(
        f"“{shortened(said)}” is no stage, and only stages are corrected",
        "a wrong count or measure is put right by striking its record and logging it anew"
        + CommandText(
            f": “rearlog strike {name} {record} --because TEXT”, then "
            f"“rearlog log {name} '{code} {words}' --on {when}”",
            "",
        ),
    )


def _other_calls(
    log: CohortLog, code: str, stage: str, days: tuple[date, date]
) -> list[Observation]:
    """The calls of another stage on these days."""
    known = {each.casefold(): each for each in log.by_code}
    if code.casefold() not in known:
        raise UsageError(f"there is no individual {code}", f"this cohort has {', '.join(known)}")
    day = log.cohort.clock.day
    found = [
        each
        for each in log.checks[known[code.casefold()]]
        if each.stage not in (None, stage) and days[0] <= day(each.at) <= days[1]
    ]
    if not found:
        message = f"nobody said of {code} from {days[0]} to {days[1]} that it was not {stage}"
        remedy = CommandText(
            f"“rearlog history {log.cohort.name} {code}” shows its records",
            "its own page shows its records",
        )
        raise UsageError(message, remedy)
    return found
