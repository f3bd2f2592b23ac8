"""More individuals of a cohort, made of what somebody says of them, by whichever door."""

from __future__ import annotations

from datetime import datetime

from rearlog.records import times
from rearlog.records.entries import expand, shortened
from rearlog.records.errors import UsageError
from rearlog.records.log import Cohort, Individual
from rearlog.records.typed_words import RESERVED
from rearlog.records.values import CODE
from rearlog.records.wording import stamp


def more_individuals(
    header: Cohort,
    now: datetime,
    codes: str,
    *,
    stage: str | None = None,
    on: str | None = None,
    container: str | None = None,
    clutch: str | None = None,
    note: str | None = None,
) -> list[Individual]:
    """Individuals that come into a cohort later, at `on` (today) in a stage (the first).

    Their `codes` are parted by commas; ranges such as 25-30 count through. Raises UsageError for
    what cannot be.
    """
    entered = times.read_moment(on or "today", header.zone, header.check_time, now)
    if entered > now:
        raise UsageError(f"{on} is in the future")
    if entered < header.started:
        raise UsageError(f"the cohort started only at {stamp(header.started)}")
    entry_stage = header.species.code_of(stage or header.species.codes[0])
    named = expand(codes)
    wrong = [code for code in named if not CODE.fullmatch(code) or code.lower() in RESERVED]
    if wrong:
        raise UsageError(
            f"“{shortened(wrong[0])}” cannot be a code", "use up to 24 letters, digits and _"
        )
    return [
        Individual(code, entered, entry_stage, container=container, clutch=clutch, note=note)
        for code in named
    ]
