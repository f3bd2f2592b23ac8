"""The quantities of a profile: where they stand, and whether their numbers can be right."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rearlog.records.errors import Problem
from rearlog.records.fields import MEASURES
from rearlog.records.profile import Profile, Quantity
from rearlog.species.shape import item_place
from rearlog.species.stage_order import is_instar, stage_place

_CELSIUS = (-10.0, 60.0, "°C")
_PLAUSIBLE = {
    "lower": _CELSIUS,
    "upper": _CELSIUS,
    "days": (0.01, 3000.0, "days"),
    "degree_days": (0.1, 30000.0, "degree-days"),
    **{each.name: (each.least, each.most, each.unit) for each in MEASURES},
    "measures_mm": (0.01, 400.0, "mm"),
}
"""Lowest and highest value that any species could have, and the unit."""

_OF_STAGES = ("days", "degree_days", *(each.name for each in MEASURES))


def _whole(profile: Profile) -> Iterator[Problem]:
    """A value or a range is there, and the numbers of a quantity agree with each other."""
    for place, _, quantity in all_quantities(profile):
        value, low, high = quantity.value, quantity.low, quantity.high
        if (low is None) != (high is None):
            yield Problem("low and high belong together", place, "give both, or a value")
        elif low is None or high is None:
            if value is None:
                yield Problem("there is no number", place, "give value, or low and high")
        elif low > high:
            yield Problem(f"low {low:g} is above high {high:g}", place)
        elif value is not None and not low <= value <= high:
            yield Problem(f"value {value:g} is not between low {low:g} and high {high:g}", place)


def _spreads(profile: Profile) -> Iterator[Problem]:
    for place, _, quantity in all_quantities(profile):
        if quantity.sd is not None and quantity.sd <= 0:
            yield Problem(f"sd {quantity.sd:g} is not above zero", place)
        if quantity.sd is not None and quantity.value is None:
            yield Problem("sd is the spread around a value, which is missing", place)
        if quantity.spread_source is not None and quantity.sd is None and quantity.low is None:
            yield Problem("spread_source without a spread", place, "give sd, or low and high")


def _plausible(profile: Profile) -> Iterator[Problem]:
    for place, name, quantity in all_quantities(profile):
        for key in ("value", "low", "high"):
            yield from _limits(key, getattr(quantity, key), _PLAUSIBLE[name], place)
        if quantity.at_celsius is None:
            continue
        coldest, warmest = quantity.at_celsius
        if coldest > warmest:
            yield Problem(f"at_celsius: {coldest:g} is above {warmest:g}", place)
        for celsius in sorted({coldest, warmest}):
            yield from _limits("at_celsius", celsius, _CELSIUS, place)


def _limits(
    key: str, number: float | None, limits: tuple[float, float, str], place: str
) -> Iterator[Problem]:
    least, most, unit = limits
    if number is not None and not least <= number <= most:
        remedy = f"between {least:g} and {most:g} {unit}"
        yield Problem(f"{key} {number:g} {unit} is not plausible", place, remedy)


def _thresholds(profile: Profile) -> Iterator[Problem]:
    lower, upper = _centre(profile.lower), _centre(profile.upper)
    if lower is not None and upper is not None and upper <= lower:
        yield Problem(f"upper {upper:g} °C is not above lower {lower:g} °C", "upper")
    heated = [place for place, name, _ in all_quantities(profile) if name == "degree_days"]
    if profile.lower is None and heated:
        remedy = "degree-days are counted from it"
        yield Problem("the lower developmental threshold is missing", heated[0], remedy)


def _head_widths_grow(profile: Profile) -> Iterator[Problem]:
    widths = [
        (stage.code, width)
        for stage in profile.stages
        if is_instar(stage.code) and (width := _centre(stage.head_width_mm)) is not None
    ]
    for (earlier, before), (later, after) in pairwise(widths):
        if after <= before:
            yield Problem(
                f"{after:g} mm is not above the {before:g} mm of {earlier}",
                f"{stage_place(later)}, head_width_mm",
                "heads grow at every molt",
            )


def all_quantities(profile: Profile) -> Iterator[tuple[str, str, Quantity]]:
    """Every quantity of a profile: its place in words, the name of its field, itself."""
    for name in ("lower", "upper"):
        if (quantity := getattr(profile, name)) is not None:
            yield name, name, quantity
    for stage in profile.stages:
        for name in _OF_STAGES:
            if (quantity := getattr(stage, name, None)) is not None:
                yield f"{stage_place(stage.code)}, {name}", name, quantity
        for measure, quantity in stage.measures_mm.items():
            place = f"{stage_place(stage.code)}, {item_place('measures_mm', measure)}"
            yield place, "measures_mm", quantity
    for span in profile.spans:
        for name in ("days", "degree_days"):
            if (quantity := getattr(span, name)) is not None:
                yield f"{item_place('spans', span.name)}, {name}", name, quantity


def _centre(quantity: Quantity | None) -> float | None:
    if quantity is None or (quantity.value is None and None in (quantity.low, quantity.high)):
        return None
    return quantity.centre


RULES = (_whole, _spreads, _plausible, _thresholds, _head_widths_grow)
