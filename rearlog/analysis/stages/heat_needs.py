"""The heat that each stage takes, and how much individuals differ in it, by the species profile."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.stages.expected import SPREADS_IN_RANGE, Range, measured_near
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import Profile, Quantity, StageProfile

USUAL_SPREAD = 0.10
"""SD of K as a share of its mean where a profile gives no spread: an assumption, said when used."""

USUAL_PACE = 0.5
"""Correlation of K between the stages of one individual, unless given: an assumption."""


@dataclass(frozen=True, slots=True)
class HeatFromDays:
    """A stage of which only `days` are known, taken at `rate` degree-days a day."""

    stage: str
    days: float
    rate: float


@dataclass(frozen=True, slots=True)
class SpreadAssumed:
    """A stage (or several) of which no spread between individuals is known: the SD is taken to be
    this share of the mean."""

    stage: str
    share: float


@dataclass(frozen=True, slots=True)
class StagesPassedOver:
    """Stages that nobody is taken to pass through, for they are optional."""

    stages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Extrapolation:
    """Stages whose values were measured at other temperatures (°C, lowest and highest) than that
    at which they are used."""

    stages: tuple[str, ...]
    measured_celsius: Range
    celsius: float


@dataclass(frozen=True, slots=True)
class RecentGoesOn:
    """After the `last` day with a temperature the mean of the last days goes on."""

    last: date


Assumption = HeatFromDays | SpreadAssumed | StagesPassedOver | Extrapolation | RecentGoesOn


@dataclass(frozen=True, eq=False)
class Needs:
    """The degree-days that S stages take: `mean` and `sd` (S − 1,), all stages but the last.

    Optional stages need nothing: they are left out of invented lives. `lower` and `upper` are the
    thresholds in °C. `assumptions` are what the profile did not say.
    """

    stages: tuple[str, ...]
    optional: Booleans
    lower: float
    upper: float | None
    mean: Floats
    sd: Floats
    assumptions: tuple[Assumption, ...]

    def rate(self, celsius: float) -> float:
        """Degree-days per day at a constant temperature; not above 0 where nothing develops."""
        return steady_rate(celsius, self.lower, self.upper)


def steady_rate(celsius: float, lower: float, upper: float | None) -> float:
    """Degree-days a day at a constant temperature (all °C); not above 0 where nothing develops."""
    return (celsius if upper is None else min(celsius, upper)) - lower


def needs(profile: Profile) -> Needs:
    """The heat that each stage of a profile takes, and its spread between individuals.

    A stage of which only days at a temperature are known takes those days times the degrees above
    the lower threshold. Where a profile gives no spread, USUAL_SPREAD is taken. Raises UsageError
    without a lower threshold, and with every stage whose heat is not known.
    """
    if profile.lower is None:
        raise UsageError(
            f"the profile of {profile.name} has no lower developmental threshold",
            "development is simulated from degree-days above it",
        )
    lower, upper = profile.lower.centre, profile.upper.centre if profile.upper else None
    problems: list[Problem] = []
    assumptions: list[Assumption] = []
    moments = [
        (0.0, 0.0) if stage.optional else _moments(stage, lower, upper, assumptions, problems)
        for stage in profile.stages[:-1]
    ]
    if problems:
        raise UsageError(problems)
    mean, sd = np.array(moments).T
    left_out = [stage.code for stage in profile.stages if stage.optional]
    if left_out:
        assumptions.append(StagesPassedOver(tuple(left_out)))
    optional = np.array([stage.optional for stage in profile.stages])
    return Needs(profile.codes, optional, lower, upper, mean, sd, tuple(assumptions))


def _moments(
    stage: StageProfile,
    lower: float,
    upper: float | None,
    assumptions: list[Assumption],
    problems: list[Problem],
) -> tuple[float, float]:
    """Mean and SD of the degree-days of a stage."""
    quantity, rate = stage.degree_days, 1.0
    if quantity is None and stage.days is not None and stage.days.at_celsius is not None:
        quantity, rate = stage.days, steady_rate(sum(stage.days.at_celsius) / 2, lower, upper)
        assumptions.append(HeatFromDays(stage.code, quantity.centre, rate))
    if quantity is None or rate <= 0:
        remedy = "give degree_days, or days and the temperature that they hold for"
        problems.append(Problem("the heat that it takes is not known", stage.code, remedy))
        return 0.0, 0.0
    spread = spread_of(quantity)
    if spread is None:
        spread = USUAL_SPREAD * quantity.centre
        assumptions.append(SpreadAssumed(stage.code, USUAL_SPREAD))
    return quantity.centre * rate, spread * rate


def spread_of(quantity: Quantity) -> float | None:
    """The SD between individuals: as given, or that of a range which holds 95 % of them."""
    if quantity.sd is not None or quantity.low is None or quantity.high is None:
        return quantity.sd
    return (quantity.high - quantity.low) / (2 * SPREADS_IN_RANGE) or None


def beyond_measured(stages: Sequence[StageProfile], celsius: float) -> Iterator[Extrapolation]:
    """Which of these stages have a heat that was not measured at this temperature (°C)."""
    stages_at: dict[Range, list[str]] = {}
    for stage in stages:
        quantity = stage.degree_days or stage.days
        if quantity is not None and quantity.at_celsius is not None and not stage.optional:
            stages_at.setdefault(quantity.at_celsius, []).append(stage.code)
    for measured, codes in stages_at.items():
        if not measured_near(measured, celsius):
            yield Extrapolation(tuple(codes), measured, celsius)
