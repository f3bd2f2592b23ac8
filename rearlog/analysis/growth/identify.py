"""Which stage it is, from what was measured on one animal and what was seen of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.growth.evidence import (
    Evidence,
    EvidenceKind,
    Measured,
    Witness,
    own_widths,
    refuse,
    witnesses,
)
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.key import Answers
from rearlog.records.head_widths import SURE
from rearlog.records.profile import NOT_THE_ANIMAL, Profile

LENGTH = EvidenceKind.LENGTH


class StageProbability(Struct, frozen=True):
    """How likely a stage is (“none”: it is not the animal at all)."""

    stage: str
    probability: float


class Outcome(StrEnum):
    """How an identification ended."""

    NAMED = "named"
    BETWEEN = "between"
    LENGTH_ALONE = "length alone"
    FITS_NO_STAGE = "fits no stage"
    CONTRADICTION = "contradiction"


class Reservation(StrEnum):
    """What is to be minded of an identification."""

    LENGTH_ALONE = "length alone"
    UNUSUAL_LENGTH = "unusual length"
    INSTARS_VARY = "instars vary"


class Clue(Struct, frozen=True):
    """What to look for: a sign of `stage`, how to tell it from the one that it is `taken_for`, or
    (without a stage) how parts compare; `text` as the profile has it."""

    text: str
    stage: str | None = None
    taken_for: str | None = None


class Identification(Answer, frozen=True):
    """Which stage it is: `stage` where one is sure, else None.

    `possible` are the stages that it may be where none is sure: all that are likely, in order.
    `unfit` are the things measured that fit no stage. `probabilities` are to four decimals, and
    empty where something fits no stage at all. `clues` are what tells the likeliest stages apart,
    or confirms the one.
    """

    species: str
    cohort: str | None
    stage: str | None
    outcome: Outcome
    possible: tuple[str, ...]
    unfit: tuple[str, ...]
    probabilities: tuple[StageProbability, ...]
    evidence: tuple[Evidence, ...]
    clues: tuple[Clue, ...]
    doubts: tuple[Reservation, ...]


def identify(
    profile: Profile, measured: Measured, answers: Answers, growth: Growth | None = None
) -> Identification:
    """Weigh everything that is known of one animal: Bayes' theorem, all stages equally likely.

    Head widths and other parts by `instar_probabilities`, answers by the profile's key, body
    length only weakly: a stage is named where it is sure (SURE) both with the length and without.
    With the `growth` of a cohort, its own mean widths are taken where they are of enough
    individuals. Raises UsageError for measures that the profile does not know or that are not
    above zero, and where nothing is given.
    """
    refuse(profile, measured, answers)
    heard = list(witnesses(profile, measured, answers, own_widths(growth)))
    likely = _together(profile, heard)
    firm = _together(profile, [each for each in heard if each.evidence.kind is not LENGTH])
    if not all(each.fits for each in heard):
        likely = {}
    stage = _named(likely, firm)
    outcome = _outcome(heard, likely, stage)
    possible = {Outcome.BETWEEN: _likeliest, Outcome.LENGTH_ALONE: _possible}.get(outcome)
    return Identification(
        species=profile.scientific_name,
        cohort=growth.cohort if growth else None,
        stage=stage,
        outcome=outcome,
        possible=tuple(possible(likely)) if possible else (),
        unfit=tuple(each.evidence.what for each in heard if not each.fits),
        probabilities=tuple(StageProbability(code, round(p, 4)) for code, p in likely.items()),
        evidence=tuple(each.evidence for each in heard),
        clues=tuple(_clues(profile, likely, stage)),
        doubts=tuple(_doubts(profile, measured, heard, stage)),
    )


def _together(profile: Profile, heard: Sequence[Witness]) -> dict[str, float]:
    """The probability of each stage that is possible; empty where none is, or nothing is known."""
    if not heard:
        return {}
    weights = {
        code: math.prod(each.likelihood.get(code, 0.0) for each in heard)
        for code in (*profile.codes, NOT_THE_ANIMAL)
    }
    total = sum(weights.values())
    return {code: weight / total for code, weight in weights.items() if weight > 0}


def _named(likely: Mapping[str, float], firm: Mapping[str, float]) -> str | None:
    if not likely:
        return None
    best = max(likely, key=likely.__getitem__)
    return best if min(likely[best], firm.get(best, 0.0)) >= SURE else None


def _outcome(heard: Sequence[Witness], likely: Mapping[str, float], stage: str | None) -> Outcome:
    if not all(each.fits for each in heard):
        return Outcome.FITS_NO_STAGE
    if not likely:
        return Outcome.CONTRADICTION
    if stage is not None:
        return Outcome.NAMED
    alone = all(each.evidence.kind is LENGTH for each in heard)
    return Outcome.LENGTH_ALONE if alone else Outcome.BETWEEN


def _possible(likely: Mapping[str, float]) -> list[str]:
    """The stages that are more than half as likely as the likeliest, in their order."""
    return [code for code in likely if likely[code] > max(likely.values()) / 2]


def _likeliest(likely: Mapping[str, float]) -> list[str]:
    """All that are possible, and the two likeliest stages in any case, in their order."""
    best = sorted(likely, key=lambda code: -likely[code])[:2]
    return [code for code in likely if code in best or code in _possible(likely)]


def _clues(profile: Profile, likely: Mapping[str, float], stage: str | None) -> Iterator[Clue]:
    if stage is not None and stage != NOT_THE_ANIMAL:
        for sign in profile.stage(stage).signs:
            yield Clue(sign.text, stage)
        return
    if not likely:
        return
    likeliest = _likeliest(likely)
    for code in likeliest:
        if code == NOT_THE_ANIMAL:
            continue
        for confusion in profile.stage(code).confusions:
            other = confusion.taken_for if confusion.taken_for in profile.rank else NOT_THE_ANIMAL
            if other in likeliest:
                yield Clue(confusion.tell, code, confusion.taken_for)
    for relation in profile.measure_relations:
        yield Clue(relation.text)


def _doubts(
    profile: Profile, measured: Measured, heard: Sequence[Witness], stage: str | None
) -> Iterator[Reservation]:
    length = next((each for each in heard if each.evidence.kind is LENGTH), None)
    if length is not None and len(heard) == 1:
        yield Reservation.LENGTH_ALONE
    elif length is not None and stage is not None and length.likelihood[stage] < SURE:
        yield Reservation.UNUSUAL_LENGTH
    if any(each.optional for each in profile.stages) and measured.head_mm:
        yield Reservation.INSTARS_VARY
