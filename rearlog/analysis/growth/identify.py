"""Which stage it is, from what was measured on one animal and what was seen of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from rearlog.analysis.growth.evidence import (
    Evidence,
    Measured,
    Witness,
    own_widths,
    refuse,
    stage_name,
    witnesses,
)
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.key import Answers
from rearlog.records.head_widths import SURE
from rearlog.records.profile import NOT_THE_ANIMAL, Profile


@dataclass(frozen=True, slots=True)
class StageProbability:
    """How likely a stage is (“none”: it is not the animal at all)."""

    stage: str
    probability: float


@dataclass(frozen=True, slots=True)
class Identification:
    """Which stage it is: `stage` where one has 90 %, else None; `verdict` says it in words.

    `probabilities` are to four decimals, and empty where something fits no stage at all.
    `look_for` is what tells the likeliest stages apart, or confirms the one.
    """

    species: str
    cohort: str | None
    stage: str | None
    verdict: str
    probabilities: tuple[StageProbability, ...]
    evidence: tuple[Evidence, ...]
    look_for: tuple[str, ...]
    warnings: tuple[str, ...]


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
    firm = _together(profile, [each for each in heard if each.kind != "length"])
    if not all(each.fits for each in heard):
        likely = {}
    stage = _named(likely, firm)
    return Identification(
        species=profile.scientific_name,
        cohort=growth.cohort if growth else None,
        stage=stage,
        verdict=_verdict(heard, likely, stage),
        probabilities=tuple(StageProbability(code, round(p, 4)) for code, p in likely.items()),
        evidence=tuple(each.evidence for each in heard),
        look_for=tuple(_look_for(profile, likely, stage)),
        warnings=tuple(_warnings(profile, measured, heard, stage)),
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
    best = max(likely, key=likely.__getitem__, default="")
    sure = min(likely.get(best, 0.0), firm.get(best, 0.0)) >= SURE
    return best if sure else None


def _verdict(heard: Sequence[Witness], likely: Mapping[str, float], stage: str | None) -> str:
    unfit = [each.evidence.what for each in heard if not each.fits]
    if unfit:
        return f"{' and '.join(unfit)}: of no stage of this species, or misread; measure again"
    if not likely:
        return "what was given contradicts itself; look again"
    if stage is not None:
        name = "not the animal" if stage == NOT_THE_ANIMAL else stage
        return f"{name} ({percent(likely[stage])})"
    kinds = {each.kind for each in heard}
    if kinds == {"length"}:
        return f"{', '.join(_possible(likely))}: length alone does not decide; measure the head"
    *names, last = (stage_name(code) for code in _likeliest(likely))
    what = "measure" if "measure" in kinds else "look"
    return f"between {', '.join(names)} and {last}, {what} again"


def percent(p: float) -> str:
    """A probability as people read it; never quite sure."""
    return "more than 99 %" if p > 0.99 else f"{100 * p:.0f} %"


def _possible(likely: Mapping[str, float]) -> list[str]:
    """The stages that are more than half as likely as the likeliest, in their order."""
    return [code for code in likely if likely[code] > max(likely.values()) / 2]


def _likeliest(likely: Mapping[str, float]) -> list[str]:
    """All that are possible, and the two likeliest stages in any case, in their order."""
    best = sorted(likely, key=lambda code: -likely[code])[:2]
    return [code for code in likely if code in best or code in _possible(likely)]


def _look_for(profile: Profile, likely: Mapping[str, float], stage: str | None) -> Iterator[str]:
    if stage is not None and stage != NOT_THE_ANIMAL:
        for sign in profile.stage(stage).signs:
            yield f"{stage}: {sign.text}"
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
                yield f"{code} is taken for {confusion.taken_for}: {confusion.tell}"
    for relation in profile.measure_relations:
        yield relation.text


def _warnings(
    profile: Profile, measured: Measured, heard: Sequence[Witness], stage: str | None
) -> Iterator[str]:
    length = next((each for each in heard if each.kind == "length"), None)
    if length is not None and len(heard) == 1:
        yield (
            "Body length alone is a poor guide: an L2 about to molt can be twice as long as one "
            "that has just molted."
        )
    elif length is not None and stage is not None and length.likelihood.get(stage, 1.0) < SURE:
        yield f"A body of {length.evidence.given} is unusual for {stage}."
    if any(each.optional for each in profile.stages) and measured.head_mm:
        yield "The number of instars varies in this species, and with it the width of each."
