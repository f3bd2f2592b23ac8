"""What an expected range rests on, and how something lies to it."""

from __future__ import annotations

from rearlog.analysis.stages.expected import Basis, BasisKind, OtherThresholds
from rearlog.sentences.phrases import celsius_range


def basis_words(basis: Basis) -> str:
    """What a range rests on, without a full stop."""
    return "; ".join(filter(None, (rests_on(basis), extrapolated(basis))))


def rests_on(basis: Basis) -> str:
    """What a range rests on, whether that holds at the cohort's temperatures or not."""
    if basis.kind is BasisKind.HEAT and basis.degree_days is not None:
        low, high = basis.degree_days
        return (
            f"{low:.0f} to {high:.0f} degree-days above {basis.lower:g} °C "
            "at this cohort's temperatures"
        )
    others = basis.other_thresholds and thresholds_differ(basis.other_thresholds)
    if basis.kind is BasisKind.NOTHING:
        return others or "the profile has no value"
    because = f", since {others}" if others else ""
    at = f" at {celsius_range(basis.measured_celsius)}" if basis.measured_celsius else ""
    return f"the profile's days{at}{because}"


def extrapolated(basis: Basis) -> str:
    """That a range is extrapolated, and how far; empty where it is not."""
    if not basis.extrapolated or basis.measured_celsius is None:
        return ""
    measured = celsius_range(basis.measured_celsius)
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
