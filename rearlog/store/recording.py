"""A round of checks that is told in the compact notation, taken into a cohort file."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from datetime import datetime

from msgspec import Struct

from rearlog.records.cages import with_cages
from rearlog.records.clock import in_zone
from rearlog.records.command_text import CommandText
from rearlog.records.doubts import Doubt
from rearlog.records.entries import Entry, pass_over, resolve
from rearlog.records.errors import Problem, RecordError
from rearlog.records.incoming import said_already, telling
from rearlog.records.log import Cohort, CohortLog, Observation, State
from rearlog.records.rules import nobody_alive, problems_with
from rearlog.records.typed_words import RESERVED
from rearlog.records.wording import counted, record_names, stamp
from rearlog.store.cohort_file import CohortFile


class RecordedRound(Struct, frozen=True):
    """A round at a moment: its checks, with their numbers unless it was only tried.

    `before` is what was known of everyone, `alive` are those who lived then, and `passed` those
    who were passed over inside ranges, because they had ended before. `doubts` are those that it
    raises.
    """

    cohort: Cohort
    at: datetime
    checks: list[Observation]
    before: dict[str, State]
    alive: list[str]
    passed: list[str]
    doubts: list[Doubt]


def record_round(
    file: CohortFile,
    entries: Sequence[Entry],
    at: str | datetime | None,
    by: str | None,
    now: datetime,
    *,
    dry_run: bool = False,
    strict: bool = False,
) -> RecordedRound:
    """Record what was seen at a moment (as people write it; None: now), or try it in a `dry_run`.

    What `all` and `rest` mean is settled under the lock. Raises EntryError or RecordError
    with everything that cannot be taken; then nothing is written.
    """
    codes = _single_codes(entries)
    with contextlib.nullcontext() if dry_run else file.held():
        log = file.outline(codes)
        if codes is not None and not _all_known(log, codes):  # cages, or mistakes
            codes, log = None, file.outline()
        header = log.cohort
        present = in_zone(now, header.zone)
        moment = _moment(at, header, present)
        before, alive = log.states_at(moment), log.alive_at(moment)
        ended = [code for code, state in before.items() if state.fate is not None]
        kept, passed = pass_over(with_cages(entries, log, moment), ended)
        checks = resolve(kept, header.species, before, alive, moment, by)
        _refuse_future(log, checks, moment, present)
        if not checks:  # the line says all or rest alone
            raise RecordError(nobody_alive(log, moment))
        _refuse_twice(log, checks, present)
        found = file.record([telling(checks)], present, codes, dry_run=dry_run, strict=strict)
    return RecordedRound(header, moment, found.checks, before, alive, passed, found.doubts)


def _all_known(log: CohortLog, codes: Sequence[str]) -> bool:
    known = {code.casefold() for code in log.by_code}
    return all(code.casefold() in known for code in codes)


def _refuse_future(
    log: CohortLog, checks: Sequence[Observation], moment: datetime, now: datetime
) -> None:
    """Raise RecordError for a round that is still to come: one problem for all of its checks."""
    if moment > now:
        told = Problem("the round is in the future", stamp(moment), f"it is {stamp(now)} now")
        raise RecordError([told, *problems_with(log, checks, moment)])


def _refuse_twice(log: CohortLog, checks: Sequence[Observation], now: datetime) -> None:
    """Raise RecordError where records say already what is told: one problem for all of them."""
    known = said_already(log, checks)
    if not known:
        return
    codes = {each.individual for each in known}
    others = [each for each in checks if each.individual not in codes]
    what = "this round is" if not others else f"{counted(len(known), 'check')} of this round are"
    names = record_names(sorted(each.number for each in known if each.number))
    remedy = "another round has another time" + CommandText(", told with --on", "")
    told = Problem(f"{what} in the log already: {names}", remedy=remedy)
    raise RecordError([told, *problems_with(log, others, now)])


def _moment(at: str | datetime | None, cohort: Cohort, present: datetime) -> datetime:
    if isinstance(at, str):
        from rearlog.records.times import read_moment  # start-up time

        return read_moment(at, cohort.zone, cohort.check_time, present)
    return at or present


def _single_codes(entries: Sequence[Entry]) -> list[str] | None:
    """The codes that are named one by one: only their checks need be read. None: read them all."""
    codes = [code for each in entries for code in each.who.split(",")]
    return None if any("-" in code or code.lower() in RESERVED for code in codes) else codes
