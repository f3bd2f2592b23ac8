"""What is in doubt in a cohort: looks that contradict each other, and which is taken as mistaken.

Which looks contradict each other is `records.doubts`; how they were settled is in the events.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.in_question import in_question
from rearlog.analysis.stages.settling import SettledDoubt
from rearlog.records.columns import columns_of
from rearlog.records.doubts import Doubt, DoubtKind, all_doubts
from rearlog.records.log import CohortLog, Observation
from rearlog.records.wording import said


class Blame(StrEnum):
    """Whether the events that contradict the least of what was said contradict a record."""

    MISTAKE = "mistake"
    """All explanations with the fewest mistakes do."""
    PERHAPS = "perhaps"
    """Some of them do."""


class Told(Struct, frozen=True):
    """What a record says of an individual (`record` None: how it entered), and whether it is taken
    for a mistake (None: it is not). `stages` are the lowest and the highest stage that it was in by
    then if it is one; None where it had ended."""

    record: int | None
    at: datetime
    said: str
    blame: Blame | None
    stages: tuple[str, str] | None


class InDoubt(Struct, frozen=True):
    """A look that contradicts another one `before` it, and how."""

    cohort: str
    individual: str
    kind: DoubtKind
    look: Told
    before: Told


def in_doubt(log: CohortLog, history: EventHistory) -> tuple[InDoubt, ...]:
    """What is in doubt in a log, by individual and time; `history` are the events of it."""
    asked = in_question(log, history)
    if not asked:
        return ()
    lives = _lives_of(log, asked | _kept(log))
    told = {each.number: each for each in lives.all_observations}
    settled = {(each.individual, each.number): each for each in history.doubts}
    return tuple(_in_doubt(lives, each, told, settled) for each in all_doubts(lives, asked))


def _kept(log: CohortLog) -> set[str]:
    """The individuals of which it was told with whom they are kept: eggs may be of others too."""
    looks = columns_of(log)
    return {code for code, mate in zip(looks["individual"], looks["mate"], strict=True) if mate}


def _lives_of(log: CohortLog, codes: set[str]) -> CohortLog:
    """The log with the looks at some individuals, and no record made of each look at the others."""
    looks = columns_of(log)
    places = zip(looks.places, looks["individual"], strict=True)
    return replace(
        log,
        all_observations=tuple(log.all_observations[n] for n, code in places if code in codes),
    )


def _in_doubt(
    log: CohortLog,
    doubt: Doubt,
    told: dict[int | None, Observation],
    settled: dict[tuple[str, int | None], SettledDoubt],
) -> InDoubt:
    code = doubt.individual
    entry = log.by_code[code]
    look, before = (
        _told(told[number], settled.get((code, number)))
        if number is not None
        else Told(None, entry.entered_at, entry.stage, *_blame(settled.get((code, None))))
        for number in (doubt.record, doubt.against)
    )
    return InDoubt(log.cohort.name, code, doubt.kind, look, before)


def _told(look: Observation, settled: SettledDoubt | None) -> Told:
    return Told(look.number, look.at, said(look), *_blame(settled))


def _blame(settled: SettledDoubt | None) -> tuple[Blame | None, tuple[str, str] | None]:
    if settled is None:
        return None, None
    return Blame.MISTAKE if settled.certain else Blame.PERHAPS, settled.stages


def of_records(found: Sequence[InDoubt], numbers: set[int | None]) -> tuple[InDoubt, ...]:
    """Those doubts that are about some records, by their numbers."""
    return tuple(each for each in found if {each.look.record, each.before.record} & numbers)
