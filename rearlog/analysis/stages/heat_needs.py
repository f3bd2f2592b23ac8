"""The heat that each stage takes, and how much individuals differ in it, by the species profile."""

from __future__ import annotations

from datetime import date

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats
from rearlog.analysis.stages.profile_values import (
    USUAL_SPREAD,
    Extrapolation,
    SpreadAssumed,
    StagesPassedOver,
    spread_of,
    steady_rate,
)
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import Profile, StageProfile


class HeatFromDays(Struct, frozen=True):
    """A stage of which only `days` are known, taken at `rate` degree-days a day."""

    stage: str
    days: float
    rate: float


class RecentGoesOn(Struct, frozen=True):
    """After the `last` day with a temperature the mean of the last days goes on."""

    last: date


Assumption = HeatFromDays | SpreadAssumed | StagesPassedOver | Extrapolation | RecentGoesOn


class Needs(Struct, frozen=True, eq=False):
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
