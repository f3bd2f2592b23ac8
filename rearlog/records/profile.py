"""What is known of a species: its stages, how long they last, how large they are, and who says so.

A profile is plain data. `rearlog.species` reads and checks profile files; a cohort keeps a copy of
the profile it was started with, so that a log keeps its meaning.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

SOURCE_KINDS = ("published", "common practice", "from memory", "derived", "own")
"""How a value came to be known. `derived`: computed from other values, as the citation says;
`own`: measured by the keeper of the profile."""

FATES = ("dead", "lost", "removed")


@dataclass(frozen=True, slots=True)
class Source:
    """Where values come from: `kind` is one of SOURCE_KINDS."""

    key: str
    kind: str
    citation: str


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value of a profile with its spread and its source; the unit is in the field's name.

    At least one of `value` and (`low`, `high`) is given. `sd` is the standard deviation between
    individuals. `at_celsius` is the range of temperatures (°C) that the value holds for.
    """

    source: str
    value: float | None = None
    sd: float | None = None
    low: float | None = None
    high: float | None = None
    at_celsius: tuple[float, float] | None = None
    note: str = ""

    @property
    def centre(self) -> float:
        """The value, or the middle of the range where only a range is known."""
        if self.value is not None:
            return self.value
        assert self.low is not None and self.high is not None
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Sign:
    """A visible sign of a stage, in a plain sentence, with the key of its source."""

    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Confusion:
    """What a stage is taken for, and how to tell the two apart."""

    stage: str
    tell: str
    source: str


@dataclass(frozen=True, slots=True)
class StageProfile:
    """One stage. `optional` stages (a variable number of instars) may be passed over."""

    code: str
    name: str
    optional: bool = False
    days: Quantity | None = None
    degree_days: Quantity | None = None
    head_width_mm: Quantity | None = None
    length_mm: Quantity | None = None
    mass_mg: Quantity | None = None
    measures_mm: dict[str, Quantity] = field(default_factory=dict)
    signs: tuple[Sign, ...] = ()
    confusions: tuple[Confusion, ...] = ()


@dataclass(frozen=True, slots=True)
class Span:
    """What is known of several stages together: from entering `first` to entering `until`."""

    first: str
    until: str
    name: str
    days: Quantity | None = None
    degree_days: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a question of the key and how likely it is in each stage (0 to 1)."""

    text: str
    likelihood: dict[str, float]


@dataclass(frozen=True, slots=True)
class Question:
    """A question that tells stages apart by looking, with its possible answers."""

    key: str
    text: str
    answers: tuple[Answer, ...]
    source: str


@dataclass(frozen=True)
class Profile:
    """A species profile. Stages stand in the order in which they are passed through.

    `lower` and `upper` are the developmental thresholds in °C.
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
    questions: tuple[Question, ...] = ()
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
