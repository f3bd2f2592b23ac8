"""What decides which stage an animal is in, for those who practise."""

from __future__ import annotations

from rearlog.analysis.growth.practice import Specimen
from rearlog.records.profile import NOT_THE_ANIMAL, Profile, StageProfile

_MUCH_GROWN, _LITTLE_GROWN = 0.8, 0.2


def sign(profile: Profile, animal: Specimen) -> str:
    """Why it is the stage that it is: its head beside those of its neighbours, or what one sees."""
    if animal.stage == NOT_THE_ANIMAL:
        stage = profile.stage(animal.taken_for or profile.codes[0])
        tells = [each.tell for each in stage.confusions]
        return tells[0] if tells else f"It has none of the marks of the {stage.code}."
    stage = profile.stage(animal.stage)
    if animal.head_width_mm is None or stage.head_width_mm is None:
        return sign_of(stage)
    heads = [
        f"{each.code} {each.head_width_mm.centre:.2g}"
        for each in _beside(profile, stage)
        if each.head_width_mm is not None
    ]
    told = f"Its head is {animal.head_width_mm:.2f} mm wide. Heads in mm: {', '.join(heads)}."
    if animal.grown is not None and animal.grown <= _LITTLE_GROWN:
        told += " It has just molted: the body is short, the head is not."
    elif animal.grown is not None and animal.grown >= _MUCH_GROWN:
        told += " It is about to molt: the body is long, the head is no wider than before."
    return told


def sign_of(stage: StageProfile) -> str:
    """What one sees of a stage, where nothing of the animal was measured."""
    return stage.signs[0].text if stage.signs else f"This is the {stage.name}."


def facts(animal: Specimen) -> list[str]:
    """What can be measured of it."""
    found = []
    if animal.head_width_mm is not None:
        found.append(f"head {animal.head_width_mm:.2f} mm wide")
    if animal.length_mm is not None:
        found.append(f"{animal.length_mm:.1f} mm long")
    return found


def _beside(profile: Profile, stage: StageProfile) -> tuple[StageProfile, ...]:
    place = profile.rank[stage.code]
    return profile.stages[max(0, place - 1) : place + 2]
