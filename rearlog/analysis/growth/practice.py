"""Invented animals to practise on: which stage is it?

Heads are fixed within an instar and vary between animals; bodies grow from molt to molt, so that an
animal which has just molted is no longer than one of the instar before which is about to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.profile import NOT_THE_ANIMAL, Profile, Quantity, StageProfile

ROUND = 10
"""So many are asked in a round."""

_FRESH, _FULL = 0.05, 0.95
"""How far an animal has grown in its instar: just molted, and about to molt."""
_USUAL_SPREAD = 0.08
"""Coefficient of variation of a size whose spread a profile does not give (from memory)."""


_Lengths = tuple[float, float]
_Instar = tuple[StageProfile, _Lengths]


class Specimen(Struct, frozen=True):
    """An invented animal of a stage (“none”: it only looks like one).

    `grown` is how far it has come between its molts (0 to 1), None where that does not show.
    `taken_for` says of what is none which stage it looks like.
    """

    stage: str
    head_width_mm: float | None
    length_mm: float | None
    grown: float | None
    taken_for: str | None = None


def specimens(profile: Profile, rounds: int, seed: int) -> tuple[Specimen, ...]:
    """Animals for some rounds of ten, the same for the same seed.

    Each round has two of one instar, one just molted and one about to, and, where lengths of
    neighbouring instars overlap, two as long as each other of different instars; where an egg has
    marks, sometimes something without them.
    """
    rng = np.random.default_rng(seed)
    return tuple(each for _ in range(rounds) for each in _round(profile, rng))


def _round(profile: Profile, rng: np.random.Generator) -> list[Specimen]:
    grow = [(each, lengths) for each in profile.stages if (lengths := _lengths(each))]
    found: list[Specimen] = []
    if grow:
        stage, _ = grow[rng.integers(len(grow))]
        found += [_specimen(stage, rng, _FRESH), _specimen(stage, rng, _FULL)]
    overlaps = list(_overlaps(grow))
    if overlaps:
        younger, older, length = overlaps[rng.integers(len(overlaps))]
        found += [_of_length(younger, length, rng), _of_length(older, length, rng)]
    mimicked = next((each for each in profile.stages if each.form and each.form.marks), None)
    if mimicked is profile.stages[0] and mimicked.length_mm and rng.random() < 0.6:
        size = _size(mimicked.length_mm, rng)
        found.append(Specimen(NOT_THE_ANIMAL, None, size, None, mimicked.code))
    while len(found) < ROUND:
        stage = profile.stages[rng.integers(len(profile.stages))]
        found.append(_specimen(stage, rng, float(rng.uniform()) if _lengths(stage) else None))
    return [found[place] for place in rng.permutation(ROUND)]


def _lengths(stage: StageProfile) -> _Lengths | None:
    """The lengths (mm) between which an instar grows, where they and its head are known."""
    length = stage.length_mm
    if stage.head_width_mm is None or length is None or length.low is None or length.high is None:
        return None
    return length.low, length.high


def _overlaps(grow: list[_Instar]) -> Iterator[tuple[_Instar, _Instar, float]]:
    """Neighbouring instars, and a length that both may have."""
    for younger, older in pairwise(grow):
        low, high = older[1][0], younger[1][1]
        if low <= high:
            yield younger, older, (low + high) / 2


def _specimen(stage: StageProfile, rng: np.random.Generator, grown: float | None) -> Specimen:
    lengths = _lengths(stage)
    size = None
    if grown is not None and lengths is not None:
        size = lengths[0] + grown * (lengths[1] - lengths[0])
    elif stage.length_mm is not None:
        size = _size(stage.length_mm, rng)
    return Specimen(stage.code, _head(stage, rng), size, grown)


def _of_length(instar: _Instar, length: float, rng: np.random.Generator) -> Specimen:
    stage, (low, high) = instar
    grown = min(1.0, max(0.0, (length - low) / (high - low)))
    return Specimen(stage.code, _head(stage, rng), length, grown)


def _head(stage: StageProfile, rng: np.random.Generator) -> float | None:
    return None if stage.head_width_mm is None else _size(stage.head_width_mm, rng)


def _size(known: Quantity, rng: np.random.Generator) -> float:
    """A size of one animal: log-normal about the value, or anywhere in the range."""
    if known.value is None:
        assert known.low is not None
        assert known.high is not None
        return float(rng.uniform(known.low, known.high))
    spread = known.sd / known.value if known.sd is not None else _USUAL_SPREAD
    sigma = math.sqrt(math.log1p(spread**2))
    return float(known.value * math.exp(rng.normal(0.0, sigma)))


def as_stage(profile: Profile, animal: Specimen) -> StageProfile:
    """A stage that is as large as the animal, to be drawn."""
    stage = profile.stage(animal.taken_for or animal.stage)

    def exactly(known: Quantity | None, value: float | None) -> Quantity | None:
        return None if known is None or value is None else Quantity(known.source, value=value)

    return replace(
        stage,
        head_width_mm=exactly(stage.head_width_mm, animal.head_width_mm),
        length_mm=exactly(stage.length_mm, animal.length_mm),
        form=None if animal.taken_for else stage.form,
    )
