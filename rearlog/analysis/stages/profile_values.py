"""What the values of a profile tell, and what is assumed where they do not: how far individuals
differ, at which temperatures a value holds, and the heat of a day at one temperature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from rearlog.records.profile import Quantity, StageProfile

USUAL_SPREAD = 0.10
"""SD of K as a share of its mean where a profile gives no spread: an assumption, said when used."""

USUAL_PACE = 0.5
"""Correlation of K between the stages of one individual, unless given: an assumption."""


SPREADS_IN_RANGE = 1.96
"""Standard deviations on both sides of a mean that hold 95 % of individuals (CONFIDENCE): what an
expected range made from a mean and an SD reaches."""

NEAR_C = 0.5
"""A temperature no farther (°C) than this from those that a value was measured at counts as one of
them: thermometers differ by as much."""

Range = tuple[float, float]


def measured_near(celsius: Range, here: float) -> bool:
    """Whether a value measured at temperatures (°C, lowest and highest) may be used `here`."""
    coldest, warmest = celsius
    return coldest - NEAR_C <= here <= warmest + NEAR_C


class SpreadAssumed(Struct, frozen=True):
    """A stage (or several) of which no spread between individuals is known: the SD is taken to be
    this share of the mean."""

    stage: str
    share: float


class StagesPassedOver(Struct, frozen=True):
    """Stages that nobody is taken to pass through, for they are optional."""

    stages: tuple[str, ...]


class Extrapolation(Struct, frozen=True):
    """Stages whose values were measured at other temperatures (°C, lowest and highest) than that
    at which they are used."""

    stages: tuple[str, ...]
    measured_celsius: Range
    celsius: float


def steady_rate(celsius: float, lower: float, upper: float | None) -> float:
    """Degree-days a day at a constant temperature (all °C); not above 0 where nothing develops."""
    return (celsius if upper is None else min(celsius, upper)) - lower


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
