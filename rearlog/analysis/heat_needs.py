"""The heat that each stage takes, and how much individuals differ in it, by the species profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rearlog.analysis.events import Floats
from rearlog.analysis.expected import SPREADS_IN_RANGE
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import Profile, Quantity, StageProfile

USUAL_SPREAD = 0.10
"""SD of K as a share of its mean where a profile gives no spread: an assumption, said when used."""


@dataclass(frozen=True, eq=False)
class Needs:
    """The degree-days that S stages take: `mean` and `sd` (S − 1,), all stages but the last.

    Optional stages need nothing: they are left out of invented lives. `assumptions` say in words
    what the profile did not.
    """

    stages: tuple[str, ...]
    optional: npt.NDArray[np.bool_]
    mean: Floats
    sd: Floats
    assumptions: tuple[str, ...]


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
    problems: list[Problem] = []
    assumptions: list[str] = []
    moments = [_moments(stage, profile, assumptions, problems) for stage in profile.stages[:-1]]
    if problems:
        raise UsageError(problems)
    mean, sd = np.array(moments).T
    optional = np.array([stage.optional for stage in profile.stages])
    if optional.any():
        left_out = [stage.code for stage in profile.stages if stage.optional]
        assumptions.append(f"nobody passes through {', '.join(left_out)}")
    return Needs(profile.codes, optional, mean, sd, tuple(assumptions))


def _moments(
    stage: StageProfile, profile: Profile, assumptions: list[str], problems: list[Problem]
) -> tuple[float, float]:
    """Mean and SD of the degree-days of a stage; 0 where it is left out."""
    if stage.optional:
        return 0.0, 0.0
    quantity, rate = stage.degree_days, 1.0
    if quantity is None:
        quantity, rate = stage.days, _rate(stage.days, profile)
        if quantity is None or rate <= 0:
            remedy = "give degree_days, or days and the temperature that they hold for"
            problems.append(Problem("the heat that it takes is not known", stage.code, remedy))
            return 0.0, 0.0
        assumptions.append(
            f"{stage.code} takes {quantity.centre * rate:.0f} degree-days: "
            f"{quantity.centre:g} days at {rate:g} degrees above the lower threshold"
        )
    spread = spread_of(quantity)
    if spread is None:
        spread = USUAL_SPREAD * quantity.centre
        assumptions.append(f"individuals differ by {USUAL_SPREAD:.0%} (SD) in {stage.code}")
    return quantity.centre * rate, spread * rate


def spread_of(quantity: Quantity) -> float | None:
    """The SD between individuals: as given, or that of a range which holds 95 % of them."""
    if quantity.sd is not None or quantity.low is None or quantity.high is None:
        return quantity.sd
    return (quantity.high - quantity.low) / (2 * SPREADS_IN_RANGE) or None


def _rate(days: Quantity | None, profile: Profile) -> float:
    """Degree-days per day at the temperature that a stage's days hold for; 0 where unknown."""
    if days is None or days.at_celsius is None or profile.lower is None:
        return 0.0
    celsius = sum(days.at_celsius) / 2
    if profile.upper is not None:
        celsius = min(celsius, profile.upper.centre)
    return celsius - profile.lower.centre
