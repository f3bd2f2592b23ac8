"""Which stage an animal is in, and why."""

from __future__ import annotations

from collections.abc import Callable

from rearlog.analysis.growth.evidence import EvidenceKind
from rearlog.analysis.growth.identify import Clue, Identification, Outcome, Reservation
from rearlog.records.profile import NOT_THE_ANIMAL
from rearlog.sentences.evidence import given, stage_name
from rearlog.sentences.phrases import listed, percent, sentence_case
from rearlog.sentences.texts import Texts

QUITE_SURE = 0.99
"""Probabilities above this are not written in figures: no animal is identified for certain."""


def probability(p: float) -> str:
    """A probability as people read it; never quite sure."""
    return f"more than {percent(QUITE_SURE)}" if p > QUITE_SURE else percent(p)


def verdict(result: Identification) -> str:
    """Which stage it is, or what to do to find out; without a full stop."""
    match result.outcome:
        case Outcome.FITS_NO_STAGE:
            parts = " and ".join(result.unfit)
            return f"{parts}: of no stage of this species, or misread; measure again"
        case Outcome.CONTRADICTION:
            return "what was given contradicts itself; look again"
        case Outcome.LENGTH_ALONE:
            stages = ", ".join(result.possible)
            return f"{stages}: length alone does not decide; measure the head"
        case Outcome.BETWEEN:
            measured = any(each.kind is EvidenceKind.MEASURE for each in result.evidence)
            stages = listed([stage_name(code) for code in result.possible])
            return f"between {stages}, {'measure' if measured else 'look'} again"
        case Outcome.NAMED:
            name, share = _named(result)
            return f"{name} ({share})"


def lead(result: Identification) -> str:
    """Which stage it is and how sure that is, or what to do to find out."""
    if result.outcome is not Outcome.NAMED:
        return f"{sentence_case(verdict(result))}."
    name, share = _named(result)
    whose = "" if result.stage == NOT_THE_ANIMAL else f" of {result.cohort or result.species}"
    return f"This is {name}{whose}, {share} sure."


def _named(result: Identification) -> tuple[str, str]:
    """The stage, and how sure that is."""
    assert result.stage is not None
    name = "not the animal" if result.stage == NOT_THE_ANIMAL else result.stage
    likely = {each.stage: each.probability for each in result.probabilities}
    return name, probability(likely[result.stage])


def look_for(result: Identification) -> tuple[str, ...]:
    """What to look for."""
    return tuple(map(_clue, result.clues))


def _clue(clue: Clue) -> str:
    if clue.stage is None:
        return clue.text
    if clue.taken_for is None:
        return f"{clue.stage}: {clue.text}"
    return f"{clue.stage} is taken for {clue.taken_for}: {clue.text}"


def warnings(result: Identification) -> tuple[str, ...]:
    """What is to be minded, in sentences."""
    return tuple(_DOUBTS[each](result) for each in result.doubts)


def _unusual(result: Identification) -> str:
    length = next(each for each in result.evidence if each.kind is EvidenceKind.LENGTH)
    return f"A body of {given(length)} is unusual for {result.stage}."


_DOUBTS: dict[Reservation, Callable[[Identification], str]] = {
    Reservation.LENGTH_ALONE: lambda _: (
        "Body length alone is a poor guide: an L2 about to molt can be twice as long as one "
        "that has just molted."
    ),
    Reservation.UNUSUAL_LENGTH: _unusual,
    Reservation.INSTARS_VARY: lambda _: (
        "The number of instars varies in this species, and with it the width of each."
    ),
}


TEXTS: Texts = {
    Identification: {"lead": lead, "verdict": verdict, "look_for": look_for, "warnings": warnings},
}
