"""What an expected range rests on, and how something lies to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

from rearlog.analysis.stages.expected import Basis, BasisKind, OtherThresholds, Timing
from rearlog.analysis.stages.left_open import MeanOf
from rearlog.analysis.stages.progress import ExpectedEvent
from rearlog.sentences.phrases import celsius_range, listed, there

DRAWN = {
    "hatch": "hatch (dotted)",
    "pupation": "pupation (dashed)",
    "eclosion": "eclosion (solid)",
}
"""Events, and how the charts draw when they are expected."""


def brackets(every: Sequence[Sequence[ExpectedEvent]]) -> str:
    """What the brackets above a chart are, for the expected events of some cohorts; empty without
    any."""
    drawn = dict.fromkeys(DRAWN[event.event] for each in every for event in each)
    if not drawn:
        return ""
    came = any(event.half_came is not None for each in every for event in each)
    half = "; ●: when half of those who came had" if came else ""
    return f"Brackets: expected {listed(list(drawn))}{half}"


class Judged(Protocol):
    """The mean of a stage beside the range that is expected of it, in days or in degree-days."""

    @property
    def stage(self) -> str:
        """The stage."""

    @property
    def mean(self) -> float | None:
        """The mean of those that completed it."""

    @property
    def mean_low(self) -> float | None:
        """Its lower limit."""

    @property
    def mean_high(self) -> float | None:
        """Its upper limit."""

    @property
    def mean_of(self) -> MeanOf:
        """For whom it stands."""

    @property
    def expected(self) -> tuple[float, float] | None:
        """The range."""

    @property
    def verdict(self) -> Timing | None:
        """How the mean lies to the range."""


J = TypeVar("J", bound=Judged)


def off(stages: Sequence[J]) -> list[J]:
    """The stages whose mean lies beyond the expected range, by chance or not."""
    return [each for each in stages if each.verdict in (Timing.SHORTER, Timing.LONGER)]


def less_or_more(each: Judged) -> str:
    """On which side of the expected range a mean lies beyond it."""
    return "less" if each.verdict is Timing.SHORTER else "more"


def beyond_doubt(each: Judged) -> bool:
    """Whether all of the interval of the mean lies on that side of the expected range, and nobody
    is left out of it who would bring it back."""
    if each.mean_low is None:
        return False
    low, high = there(each.expected)
    if each.verdict is Timing.SHORTER:
        return there(each.mean_high) < low and each.mean_of is MeanOf.EVERYBODY
    return each.mean_low > high


def sure(each: Judged) -> bool:
    """Whether all of the interval of a mean as expected lies in the expected range."""
    if each.mean_low is None:
        return False
    low, high = there(each.expected)
    within = low <= each.mean_low and there(each.mean_high) <= high
    return within and each.mean_of is MeanOf.EVERYBODY


def basis_words(basis: Basis) -> str:
    """What a range rests on, without a full stop."""
    return "; ".join(filter(None, (rests_on(basis), extrapolated(basis))))


def rests_on(basis: Basis) -> str:
    """What a range rests on, whether that holds at the cohort's temperatures or not."""
    if basis.kind is BasisKind.HEAT and basis.degree_days is not None:
        low, high = basis.degree_days
        return (
            f"{low:.0f} to {high:.0f} degree-days above {basis.lower:g} °C "
            "at the cohort's own temperatures"
        )
    others = basis.other_thresholds and thresholds_differ(basis.other_thresholds)
    if basis.kind is BasisKind.NOTHING:
        return others or "the profile has no value"
    because = f", since {others}" if others else ""
    at = f" at {celsius_range(basis.measured_celsius)}" if basis.measured_celsius else ""
    return f"the profile's days{at}{because}"


def extrapolated(basis: Basis) -> str:
    """That a range is extrapolated, and how far; empty where it is not."""
    if not basis.extrapolated:
        return ""
    measured = celsius_range(there(basis.measured_celsius))
    return f"extrapolated: measured at {measured}, here {basis.celsius:.1f} °C"


def thresholds_differ(others: OtherThresholds) -> str:
    """How the thresholds in use differ from the profile's."""
    own = _counted(others.profile_lower, others.profile_upper)
    return (
        f"the profile's degree-days are counted {own}, not {_counted(others.lower, others.upper)}"
    )


def _counted(lower: float | None, upper: float | None) -> str:
    above = "above a threshold it does not give" if lower is None else f"above {lower:g} °C"
    return above if upper is None else f"{above} and up to {upper:g} °C"
