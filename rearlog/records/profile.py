"""What is known of a species: its stages, how long they last, how large they are, and who says so.

A profile is plain data. `rearlog.species` reads and checks profile files; a cohort keeps a copy of
the profile it was started with, so that a log keeps its meaning.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import msgspec
from msgspec import Struct

from rearlog.records.errors import ProfileError, UsageError
from rearlog.records.fates import FATES
from rearlog.records.fields import MEASURES, Field
from rearlog.records.forms import Form

SOURCE_KINDS = ("published", "common practice", "from memory", "derived", "own")
"""How a value came to be known. `derived`: computed from other values, as the citation says;
`own`: measured by the keeper of the profile."""

NOT_THE_ANIMAL = "none"
"""Stands in likelihoods for what is only taken for the animal: a drop of sap, a shed skin."""


class ProfilePart(Struct, frozen=True, omit_defaults=True):
    """A part of a profile: plain values, of which those are left out that say nothing."""


class Source(ProfilePart, frozen=True):
    """Where values come from: `kind` is one of SOURCE_KINDS."""

    kind: str
    citation: str


class Quantity(ProfilePart, frozen=True):
    """One value of a profile with its spread and its source; the unit is in the field's name.

    At least one of `value` and (`low`, `high`) is given. `sd` is the standard deviation between
    individuals. `spread_source` says where the spread comes from (`sd`, or the bounds that `note`
    names), where that is not `source`. `at_celsius` is the range of temperatures (°C) that the
    value holds for, where it is known.
    """

    source: str
    value: float | None = None
    sd: float | None = None
    low: float | None = None
    high: float | None = None
    at_celsius: tuple[float, float] | None = None
    spread_source: str | None = None
    note: str = ""

    @property
    def centre(self) -> float:
        """The value, or the middle of the range where only a range is known."""
        if self.value is not None:
            return self.value
        assert self.low is not None
        assert self.high is not None
        return (self.low + self.high) / 2


class Sign(ProfilePart, frozen=True):
    """Something to be seen or known, in plain sentences, with the key of its source."""

    text: str
    source: str


class Confusion(ProfilePart, frozen=True):
    """What a stage is taken for (another stage, another species, no animal), and how to tell."""

    taken_for: str
    tell: str
    source: str


class StageProfile(ProfilePart, frozen=True):
    """One stage. `optional` stages (a variable number of instars) may be passed over.

    Head widths are fixed within an instar. Lengths and masses grow: `low` is an animal that has
    just molted, `high` one about to molt. `measures_mm` holds the lengths of other parts by name.
    `form` says what drawings need to know.
    """

    code: str
    name: str
    optional: bool = False
    days: Quantity | None = None
    degree_days: Quantity | None = None
    head_width_mm: Quantity | None = None
    length_mm: Quantity | None = None
    mass_mg: Quantity | None = None
    measures_mm: dict[str, Quantity] = {}
    form: Form | None = None
    signs: tuple[Sign, ...] = ()
    confusions: tuple[Confusion, ...] = ()

    def measure(self, measure: Field) -> Quantity | None:
        """What is known of a measure in this stage, if profiles have it at all."""
        known: Quantity | None = getattr(self, measure.name, None)
        return known


class Span(ProfilePart, frozen=True):
    """What is known of several stages together: from entering `first` to entering `until`.

    Where several spans run between the same stages (one a temperature), the most general is first.
    """

    first: str
    until: str
    name: str
    days: Quantity | None = None
    degree_days: Quantity | None = None


class KeyAnswer(ProfilePart, frozen=True):
    """One answer to a question of the key and how likely it is (0 to 1) in each stage.

    In a stage that is not named the answer does not occur. NOT_THE_ANIMAL may stand beside stages.
    """

    text: str
    likelihood: dict[str, float]


class KeyQuestion(ProfilePart, frozen=True):
    """A question that tells stages apart by looking. The answers leave out “not sure”.

    One that `needs_ruler` is asked after those that need only eyes or a lens.
    """

    key: str
    text: str
    answers: tuple[KeyAnswer, ...]
    source: str
    needs_ruler: bool = False


class Profile(ProfilePart, frozen=True, dict=True):
    """A species profile. Stages stand in the order in which they are passed through.

    `lower` and `upper` are the developmental thresholds in °C. `measure_relations` say how the
    measures of neighbouring instars hang together; `cautions` what to mind when rearing.
    """

    id: str
    name: str
    scientific_name: str
    stages: tuple[StageProfile, ...]
    sources: dict[str, Source]
    spans: tuple[Span, ...] = ()
    lower: Quantity | None = None
    upper: Quantity | None = None
    measure_relations: tuple[Sign, ...] = ()
    questions: tuple[KeyQuestion, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[Sign, ...] = ()

    @cached_property
    def codes(self) -> tuple[str, ...]:
        """The stage codes in order."""
        return tuple(stage.code for stage in self.stages)

    @cached_property
    def rank(self) -> dict[str, int]:
        """The place of each stage code in the order, from 0."""
        return {code: place for place, code in enumerate(self.codes)}

    def stage(self, code: str) -> StageProfile:
        """The stage with this code; KeyError where there is none."""
        return self.stages[self.rank[code]]

    def code_of(self, stage: str) -> str:
        """A stage as the profile spells its code; raises UsageError where it has none such."""
        for code in self.codes:
            if code.casefold() == stage.casefold():
                return code
        known = ", ".join(self.codes)
        raise UsageError(f"there is no stage {stage}", f"the stages are {known}")

    def to_dict(self) -> dict[str, Any]:
        """The profile as plain JSON values, laid out as a profile file is; defaults left out."""
        plain: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(self))
        return plain

    @classmethod
    def from_dict(cls, document: Mapping[str, Any]) -> Profile:
        """The profile in a document that `to_dict` made.

        Raises ProfileError where something in it could upset a computation: a value of the wrong
        kind, a stage twice, a source that is not there. Whether the values can be right is left to
        `rearlog.species`, which checks what a person wrote.
        """
        try:
            profile = msgspec.convert(document, cls)
        except (msgspec.ValidationError, OverflowError, RecursionError) as error:
            raise ProfileError(f"this is not a species profile: {_told(str(error))}") from None
        flaw = next(_flaws(profile, document), None)
        if flaw is not None:
            raise ProfileError(f"this is not a species profile: {flaw}")
        return profile


_MISMATCH = re.compile(r"Expected `(\w+)[^`]*`, got `[^`]*` - at `\$\.(.*)`")
_KINDS = {"str": "a text", "float": "a number", "bool": "true or false", "array": "a list"}


def _told(error: str) -> str:
    """What `msgspec` found, in our words."""
    match = _MISMATCH.fullmatch(error)
    if match is None:
        return error
    place = re.sub(r"\[.*?\]", "", match[2]).replace(".", " ")
    return f"{place} is not {_KINDS.get(match[1], 'a table')}"


def _flaws(profile: Profile, document: Any) -> Iterator[str]:
    """What values of the right kinds can still have wrong, so that nothing could rely on them."""
    if not profile.stages:
        yield "it has no stages"
    if len(set(profile.codes)) < len(profile.codes):
        yield "a stage is there twice"
    for code in {*FATES, "same"} & {code.lower() for code in profile.codes}:
        yield f"{code} is no code for a stage"
    for name, value in _named(document):
        if name in ("source", "spread_source") and value not in profile.sources:
            yield f"“{str(value)[:40]}” is not among its sources"
        if name in _QUANTITIES or name == "measures_mm":
            for each in value.values() if name == "measures_mm" else [value]:
                if each.get("value") is None and None in (each.get("low"), each.get("high")):
                    yield f"{name} holds no value"


def _named(document: Any) -> Iterator[tuple[str, Any]]:
    """Every name in a document with its value, wherever in it."""
    if isinstance(document, dict):
        for name, value in document.items():
            if value is not None:
                yield name, value
            yield from _named(value)
    elif isinstance(document, list):
        for value in document:
            yield from _named(value)


_QUANTITIES = frozenset(
    ("days", "degree_days", "lower", "upper", *(each.name for each in MEASURES))
)
