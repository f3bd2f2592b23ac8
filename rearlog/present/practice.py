"""Practice: rounds of ten animals to tell apart, as one page that needs no network."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rearlog.analysis.growth.practice import ROUND, Specimen, as_stage, specimens
from rearlog.drawings.stages import picture, picture_of
from rearlog.present.drawings import drawing_of
from rearlog.present.policy import inert_json, rendered
from rearlog.records.profile import NOT_THE_ANIMAL, Profile
from rearlog.sentences.practice import facts, sign, sign_of

ROUNDS = 12
"""So many rounds are on a page before they repeat."""


def practice(profile: Profile, seed: int) -> dict[str, Any]:
    """What the page asks: the choices, and animals with their drawing, facts, stage and sign."""
    animals = specimens(profile, ROUNDS, seed)
    choices = [*profile.codes]
    if any(each.stage == NOT_THE_ANIMAL for each in animals):
        choices.append(NOT_THE_ANIMAL)
    return {
        "species": profile.id,
        "name": profile.name,
        "round": ROUND,
        "choices": choices,
        "none": NOT_THE_ANIMAL,
        "usual": {code: _svg(picture(profile, code), f"a usual {code}") for code in profile.codes},
        "animals": [_asked(profile, each) for each in animals],
    }


def practice_on_pictures(
    profile: Profile, name: str, pictures: Iterable[tuple[str, str]]
) -> dict[str, Any]:
    """What the page asks of a cohort's own pictures: the address of each, and its stage."""
    animals = [
        {"photo": address, "facts": [], "stage": stage, "sign": sign_of(profile.stage(stage))}
        for address, stage in pictures
    ]
    return {
        "species": f"{profile.id}/{name}",
        "name": name,
        "round": min(ROUND, len(animals)),
        "choices": [*profile.codes],
        "none": NOT_THE_ANIMAL,
        "usual": {},
        "animals": animals,
    }


def _asked(profile: Profile, animal: Specimen) -> dict[str, Any]:
    known = facts(animal)
    words = f"an animal to tell: {', '.join(known)}" if known else "an animal to tell"
    return {
        "svg": _svg(picture_of(as_stage(profile, animal)), words),
        "facts": known,
        "stage": animal.stage,
        "sign": sign(profile, animal),
    }


def _svg(shown: Any, words: str) -> dict[str, Any]:
    drawn = drawing_of(shown, words)
    return {
        "svg": drawn.svg,
        "width": drawn.width_mm,
        "height": drawn.height_mm,
        "scaled": shown.size is not None or shown.head is not None,
    }


def practice_page(profile: Profile, seed: int) -> str:
    """The page as HTML text. It needs no network and nothing beside it."""
    return rendered(
        "practice.html.j2",
        ("tokens.css", "page.css", "practice.css"),
        ("practice.js",),
        profile=profile,
        data=inert_json(practice(profile, seed)),
    )
