"""What is said of a drawing: what of it is to scale, and what is only a shape."""

import pytest
from msgspec.structs import replace

from rearlog.drawings.stages import Picture
from rearlog.records.forms import StageKind
from rearlog.records.profile import Quantity, StageProfile
from rearlog.sentences.drawings import alt, label, size

WIDE = Quantity("test", value=1.2504)
RANGE = Quantity("test", low=9.0, high=11.25)
BARE = Picture(StageProfile("L1", "first larva"), StageKind.LARVA, None, (), None, None, {}, (),
               (), 1.0, 1.0)  # fmt: skip

UNKNOWN = "How large it is, the profile does not say: drawn dashed, without a scale."
HEADLESS = "The width of the head is not known."


def test_a_size_is_a_value_or_a_range() -> None:
    assert size(WIDE) == "1.2504 mm"
    assert size(RANGE) == "9–11.25 mm"
    assert label(BARE) == "size not known"
    assert label(replace(BARE, size=RANGE)) == "9–11.25 mm"
    moth = replace(BARE, kind=StageKind.ADULT, shape="moth", size=RANGE)
    assert label(moth) == "9–11.25 mm across"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, f"a plain form. {UNKNOWN} {HEADLESS} All of it is only a shape."),
        ({"shape": "maggot"}, f"maggot. {UNKNOWN} All of it is only a shape."),
        ({"kind": StageKind.EGG}, f"a plain form. {UNKNOWN} All of it is only a shape."),
        (
            {"size": RANGE},
            "a plain form. From the profile: length 9–11.25 mm, drawn at the middle of the range. "
            f"{HEADLESS} All else is only a shape.",
        ),
        (
            {"head": WIDE},
            f"a plain form. From the profile: head 1.2504 mm wide. {UNKNOWN} All else is only a "
            "shape.",
        ),
        (
            {"kind": StageKind.ADULT, "shape": "moth", "marks": ("a", "b"), "size": WIDE,
             "parts": {"fore_wing": RANGE}, "left_out": ("hind_leg", "palp")},
            "moth with a and b. From the profile: wing span 1.2504 mm, fore wing 9–11.25 mm, drawn "
            "at the middle of the range. All else is only a shape. Measured, but not drawn: hind "
            "leg, palp.",
        ),
        (
            {"kind": StageKind.EGG, "size": WIDE},
            "a plain form. From the profile: greatest extent 1.2504 mm. All else is only a shape.",
        ),
    ],
)  # fmt: skip
def test_a_drawing_in_words(told: dict[str, object], said: str) -> None:
    picture = replace(BARE, **told)  # type: ignore[arg-type]
    assert alt(picture) == f"first larva: line drawing, {said}"
    other = replace(BARE, stage=StageProfile("L2", "second larva"))
    assert alt(picture, other) == f"first larva to second larva: line drawing, {said}"
    assert alt(picture, picture) == alt(picture)
