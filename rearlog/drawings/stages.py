"""The drawing of a stage of a profile, and what of it rests on numbers."""

from __future__ import annotations

from msgspec import Struct

from rearlog.drawings.adults import adult, is_spanned
from rearlog.drawings.eggs import egg
from rearlog.drawings.larvae import BACK, FRONT, HORN, larva
from rearlog.drawings.pupae import pupa
from rearlog.drawings.strokes import Ink, Shape, bounds
from rearlog.records.forms import MARKS, SHAPES, StageKind, kind_of
from rearlog.records.profile import Profile, Quantity, StageProfile

WINGSPAN = "wingspan"
"""The name of the measure that tells how large an adult with spread wings is."""

_USUAL_MM = {
    StageKind.EGG: 1.0,
    StageKind.LARVA: 10.0,
    StageKind.NYMPH: 8.0,
    StageKind.PUPA: 10.0,
    StageKind.ADULT: 10.0,
}
"""How large a stage is drawn where nothing is known of its size."""
_HEAD_SHARE = 0.11
"""The head's share of the length, for a larva of which the head alone is known."""


class Picture(Struct, frozen=True):
    """Shapes in mm from the upper left corner, and what they rest on.

    `shape` and `marks` are those of the profile's form that were drawn. `size` is what is known of
    the greatest extent, `head` of the head's width, `parts` of other parts that are drawn at their
    length, all drawn at their centre; `size` is None where the drawing has no scale. `left_out` are
    measures that are not drawn.
    """

    stage: StageProfile
    kind: StageKind
    shape: str | None
    marks: tuple[str, ...]
    size: Quantity | None
    head: Quantity | None
    parts: dict[str, Quantity]
    left_out: tuple[str, ...]
    shapes: tuple[Shape, ...]
    width_mm: float
    height_mm: float

    @property
    def is_spanned(self) -> bool:
        """Whether the size is that of spread wings."""
        return self.kind is StageKind.ADULT and is_spanned(self.shape)


def picture(profile: Profile, code: str) -> Picture:
    """The drawing of a stage; KeyError where the profile has no such stage."""
    return picture_of(profile.stage(code))


def picture_of(stage: StageProfile) -> Picture:
    """The drawing of a stage.

    Whatever the profile does not say is left out, or drawn as plain as can be: a form that it does
    not name, a size that it does not give. A larva and a measured part are as long as the middle
    of the range that the profile gives.
    """
    kind = kind_of(stage.code)
    form = stage.form
    shape = form.shape if form is not None and form.shape in SHAPES[kind] else None
    marks = tuple(each for each in MARKS[kind] if shape and form and each in form.marks)
    parts = _parts(stage) if kind is StageKind.LARVA and shape != "maggot" else {}
    spanned = kind is StageKind.ADULT and is_spanned(shape)
    size = stage.measures_mm.get(WINGSPAN) if spanned else stage.length_mm
    head = stage.head_width_mm if kind is StageKind.LARVA and shape != "maggot" else None
    shapes = _drawn(kind, shape, frozenset(marks), size, head, parts)
    left, top, right, bottom = bounds(shapes)
    drawn = {name for name, _ in parts.values()} | ({WINGSPAN} if spanned else set())
    return Picture(
        stage,
        kind,
        shape,
        marks,
        size,
        head,
        dict(parts.values()),
        tuple(name for name in stage.measures_mm if name not in drawn),
        tuple(each.moved(-left, -top) for each in shapes),
        right - left,
        bottom - top,
    )


def _parts(stage: StageProfile) -> dict[str, tuple[str, Quantity]]:
    """The measures that can be drawn on a larva, by the part: name and value."""
    found: dict[str, tuple[str, Quantity]] = {}
    for name, quantity in stage.measures_mm.items():
        words = name.casefold()
        part = None
        if "filament" in words:
            part = FRONT if "front" in words else BACK if "back" in words else None
        elif "horn" in words:
            part = HORN
        if part is not None:
            found.setdefault(part, (name, quantity))
    return found


def _drawn(
    kind: StageKind,
    shape: str | None,
    marks: frozenset[str],
    size: Quantity | None,
    head: Quantity | None,
    parts: dict[str, tuple[str, Quantity]],
) -> list[Shape]:
    extent = _USUAL_MM[kind] if size is None else size.centre
    outline = Ink.GUESS if size is None else Ink.BODY
    if kind is StageKind.EGG:
        return egg(extent, shape, marks, outline)
    if kind is StageKind.PUPA:
        return pupa(extent, shape, marks, outline)
    if kind is StageKind.LARVA:
        width = head.centre if head is not None else None
        if size is None and width is not None:
            extent = width / _HEAD_SHARE
        lengths = {part: quantity.centre for part, (_, quantity) in parts.items()}
        return larva(extent, width, shape, marks, lengths, outline)
    return adult(extent, shape, marks, outline)
