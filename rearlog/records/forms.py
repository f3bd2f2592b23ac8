"""The few words in which a profile says what a stage looks like, for drawings of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a stage is, as far as a drawing minds."""

    EGG = "egg"
    LARVA = "larva"
    NYMPH = "nymph"
    PUPA = "pupa"
    ADULT = "adult"


@dataclass(frozen=True, slots=True)
class Form:
    """What a stage looks like: a `shape` of SHAPES and `marks` of MARKS, and the key of the source.

    What a form does not name is not drawn.
    """

    shape: str
    source: str
    marks: tuple[str, ...] = ()


SHAPES: dict[Kind, tuple[str, ...]] = {
    Kind.EGG: ("oval", "barrel", "skittle", "spindle", "ball", "disc", "grain"),
    Kind.LARVA: ("caterpillar", "grub", "worm", "maggot"),
    Kind.NYMPH: (),
    Kind.PUPA: ("hanging", "girdled", "case", "barrel", "dome"),
    Kind.ADULT: ("butterfly", "moth", "beetle", "ladybird", "fly"),
}
"""The shapes of each kind. A grub has six long legs and no more, a worm six short ones and a hard
round body, a maggot none; a case lies loose, a dome is glued down by its tail."""

MARKS: dict[Kind, tuple[str, ...]] = {
    Kind.EGG: ("ribs", "threads"),
    Kind.LARVA: (
        "bands",
        "saddle",
        "slanting stripes",
        "side line",
        "back line",
        "hairs",
        "spines",
        "horn",
    ),
    Kind.NYMPH: (),
    Kind.PUPA: ("dots", "points", "horns", "cocoon", "handle", "limbs"),
    Kind.ADULT: ("veins", "dark tips", "tails", "two spots", "seven spots"),
}
"""What may be seen on a shape of each kind."""

_KINDS = {"egg": Kind.EGG, "N": Kind.NYMPH, "pupa": Kind.PUPA, "adult": Kind.ADULT}


def kind_of(code: str) -> Kind:
    """What a stage of this code is; whatever is neither egg, nymph, pupa nor adult is a larva."""
    return _KINDS.get(code.rstrip("0123456789"), Kind.LARVA)
