"""What a profile expects from phase to phase: stages one by one, or several that it knows as one.

A phase is a stage with a value of its own, or a span of stages where one of them has none or may
be passed over (a variable number of instars). Its amount is in degree-days or in days.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.stages.profile_values import (
    USUAL_SPREAD,
    SpreadAssumed,
    spread_of,
    steady_rate,
)
from rearlog.records.profile import Profile, Quantity, Span, StageProfile

Unit = Literal["degree-days", "days"]


class DaysOnly(Struct, frozen=True):
    """A stage (or several) known in `days` and not in degree-days: taken at `rate` degree-days a
    day; None: at that of the temperature to come, whatever it is."""

    stage: str
    days: float
    rate: float | None


class Phase(Struct, frozen=True):
    """From entering the stage `first` to entering `until`; both are places in the profile.

    `mean` and `sd` (between individuals) of the amount that it takes are None where the profile
    does not tell. `optional` phases are passed over unless an individual was seen in them.
    `celsius` are the temperatures that the value holds for, `assumed` what was assumed about it.
    """

    first: int
    until: int
    optional: bool
    mean: float | None
    sd: float | None
    celsius: tuple[float, float] | None
    assumed: tuple[DaysOnly | SpreadAssumed, ...]


class Phases(Struct, frozen=True, eq=False):
    """The B phases of a profile in order. `mean` and `sd` (B,) are NaN where not known.

    `of_stage` (S,) gives each stage's phase; the last stage has the number B.
    """

    stages: tuple[str, ...]
    unit: Unit
    phases: tuple[Phase, ...]
    mean: Floats
    sd: Floats
    of_stage: Integers

    def name(self, place: int) -> str:
        """The stage of a phase, or its first and last."""
        phase = self.phases[place]
        first, last = self.stages[phase.first], self.stages[phase.until - 1]
        return first if first == last else f"{first} to {last}"

    def next_stage(self, place: int) -> int:
        """The stage that follows a phase, those passed over that may be passed over."""
        after = self.phases[place + 1 :]
        return next((each.first for each in after if not each.optional), len(self.stages) - 1)


def phases(profile: Profile, unit: Unit, rate: float) -> Phases:
    """The phases of a profile, in degree-days or in days.

    `rate` is the degree-days a day at the temperature to come. In degree-days, a stage of which
    only days are known takes those days at the temperature that they hold for, or, where that is
    not said, at the rate to come.
    """
    found: list[Phase] = []
    spans = _spans(profile, unit)
    while (first := found[-1].until if found else 0) < len(profile.stages) - 1:
        span = spans.get(first)
        until = first + 1 if span is None else profile.rank[span.until]
        found.append(_phase(profile, first, until, span, unit, rate))
    of_stage = np.full(len(profile.stages), len(found))
    for place, phase in enumerate(found):
        of_stage[phase.first : phase.until] = place
    return Phases(
        profile.codes,
        unit,
        tuple(found),
        np.array([np.nan if each.mean is None else each.mean for each in found]),
        np.array([np.nan if each.sd is None else each.sd for each in found]),
        of_stage,
    )


def _spans(profile: Profile, unit: Unit) -> dict[int, Span]:
    """Spans to be taken as a whole, by the place of their first stage.

    For each stage that cannot stand for itself, the shortest span that holds it. A stage that may
    be passed over cannot, but the whole life is too much to give up for it.
    """
    taken: dict[int, Span] = {}
    for place, stage in enumerate(profile.stages[:-1]):
        if not stage.optional and _value(stage, unit) is not None:
            continue
        holding = [
            span
            for span in profile.spans
            if profile.rank[span.first] <= place < profile.rank[span.until]
            and _value(span, unit) is not None
            and not (stage.optional and _length(profile, span) == len(profile.stages) - 1)
        ]
        if holding:
            shortest = min(holding, key=lambda span: _length(profile, span))
            first = profile.rank[shortest.first]
            taken[first] = max(
                (shortest, taken.get(first, shortest)), key=lambda span: _length(profile, span)
            )
    return taken


def _length(profile: Profile, span: Span) -> int:
    return profile.rank[span.until] - profile.rank[span.first]


def _value(of: StageProfile | Span, unit: Unit) -> Quantity | None:
    return of.days if unit == "days" else of.degree_days or of.days


def _phase(
    profile: Profile, first: int, until: int, span: Span | None, unit: Unit, rate: float
) -> Phase:
    of = span or profile.stages[first]
    known = _value(of, unit)
    optional = span is None and profile.stages[first].optional
    if known is None:
        return Phase(first, until, optional, None, None, None, ())
    name = span.name if span else profile.codes[first]
    factor, celsius, assumed = 1.0, known.at_celsius, list[DaysOnly | SpreadAssumed]()
    if unit == "degree-days" and of.degree_days is None:
        own_rate = _per_day(profile, known)
        celsius, factor = None, rate if own_rate is None else own_rate
        assumed.append(DaysOnly(name, known.centre, own_rate))
    spread = spread_of(known)
    if spread is None:
        spread = USUAL_SPREAD * known.centre
        assumed.append(SpreadAssumed(name, USUAL_SPREAD))
    mean, sd = known.centre * factor, spread * factor
    return Phase(first, until, optional, mean, sd, celsius, tuple(assumed))


def _per_day(profile: Profile, days: Quantity) -> float | None:
    """Degree-days a day at the temperature that days hold for; None where none is named."""
    if days.at_celsius is None or profile.lower is None:
        return None
    upper = profile.upper.centre if profile.upper else None
    return steady_rate(sum(days.at_celsius) / 2, profile.lower.centre, upper)
