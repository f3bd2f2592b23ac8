"""The few words in which a profile says what a stage looks like, for drawings of it."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct


class StageKind(StrEnum):
    """What a stage is, as far as a drawing minds."""

    EGG = "egg"
    LARVA = "larva"
    NYMPH = "nymph"
    PUPA = "pupa"
    ADULT = "adult"


class Form(Struct, frozen=True):
    """What a stage looks like: a `shape` of SHAPES and `marks` of MARKS, and the key of the source.

    What a form does not name is not drawn.
    """

    shape: str
    source: str
    marks: tuple[str, ...] = ()


SHAPES: dict[StageKind, tuple[str, ...]] = {
    StageKind.EGG: ("oval", "barrel", "skittle", "spindle", "ball", "disc", "grain"),
    StageKind.LARVA: ("caterpillar", "grub", "worm", "maggot"),
    StageKind.NYMPH: (),
    StageKind.PUPA: ("hanging", "girdled", "case", "barrel", "dome"),
    StageKind.ADULT: ("butterfly", "moth", "beetle", "ladybird", "fly"),
}
"""The shapes of each kind. A grub has six long legs and no more, a worm six short ones and a hard
round body, a maggot none; a case lies loose, a dome is glued down by its tail."""

MARKS: dict[StageKind, tuple[str, ...]] = {
    StageKind.EGG: ("ribs", "threads"),
    StageKind.LARVA: (
        "bands",
        "saddle",
        "slanting stripes",
        "side line",
        "back line",
        "hairs",
        "spines",
        "horn",
    ),
    StageKind.NYMPH: (),
    StageKind.PUPA: ("dots", "points", "horns", "cocoon", "handle", "limbs"),
    StageKind.ADULT: ("veins", "dark tips", "tails", "two spots", "seven spots"),
}
"""What may be seen on a shape of each kind."""

_KINDS = {
    "egg": StageKind.EGG,
    "N": StageKind.NYMPH,
    "pupa": StageKind.PUPA,
    "adult": StageKind.ADULT,
}


def kind_of(code: str) -> StageKind:
    """What a stage of this code is; whatever is neither egg, nymph, pupa nor adult is a larva."""
    return _KINDS.get(code.rstrip("0123456789"), StageKind.LARVA)
