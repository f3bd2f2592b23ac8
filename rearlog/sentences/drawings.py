"""What a drawing shows, what of it rests on numbers, and what is only a shape."""

from __future__ import annotations

from rearlog.drawings.stages import Picture
from rearlog.records.forms import StageKind
from rearlog.records.profile import Quantity
from rearlog.sentences.phrases import listed


def size(quantity: Quantity) -> str:
    """A size as a label: the value, or the range."""
    if quantity.high is not None:
        return f"{quantity.low:g}–{quantity.high:g} mm"
    return f"{quantity.centre:g} mm"


def label(picture: Picture) -> str:
    """How large the stage is, beneath its drawing."""
    if picture.size is None:
        return "size not known"
    return f"{size(picture.size)} {'across' if picture.is_spanned else ''}".rstrip()


def alt(picture: Picture, last: Picture | None = None) -> str:
    """The drawing in words: what is to scale, and what is only a shape.

    It may stand for all stages to the `last` that is drawn alike.
    """
    names = dict.fromkeys((picture.stage.name, (last or picture).stage.name))
    return " ".join([f"{' to '.join(names)}: {_seen(picture)}.", *_scale(picture)])


def _seen(picture: Picture) -> str:
    shape = picture.shape or "a plain form"
    marks = f" with {listed(list(picture.marks))}" if picture.marks else ""
    return f"line drawing, {shape}{marks}"


def _scale(picture: Picture) -> list[str]:
    known = []
    if picture.size is not None:
        extent = "wing span" if picture.is_spanned else _EXTENTS[picture.kind]
        known.append(f"{extent} {size(picture.size)}")
    if picture.head is not None:
        known.append(f"head {size(picture.head)} wide")
    known += [
        f"{name.replace('_', ' ')} {size(quantity)}" for name, quantity in picture.parts.items()
    ]
    ranges = [picture.size, picture.head, *picture.parts.values()]
    middle = any(each is not None and each.value is None for each in ranges)
    told = []
    if known:
        drawn = ", drawn at the middle of the range" if middle else ""
        told.append(f"From the profile: {', '.join(known)}{drawn}.")
    if picture.size is None:
        told.append("How large it is, the profile does not say: drawn dashed, without a scale.")
    if picture.kind is StageKind.LARVA and picture.head is None and picture.shape != "maggot":
        told.append("The width of the head is not known.")
    told.append("All else is only a shape." if known else "All of it is only a shape.")
    if picture.left_out:
        names = ", ".join(name.replace("_", " ") for name in picture.left_out)
        told.append(f"Measured, but not drawn: {names}.")
    return told


_EXTENTS = {
    StageKind.EGG: "greatest extent",
    StageKind.LARVA: "length",
    StageKind.NYMPH: "length",
    StageKind.PUPA: "length",
    StageKind.ADULT: "length",
}

LEGEND = (
    "Lengths, head widths and measured parts are drawn from the profile's numbers, at the middle "
    "of each range; a filled head is as wide as the profile says. Legs, folds and proportions are "
    "only a shape. A dashed outline has no known size."
)
"""How the drawings of a profile are to be read."""
