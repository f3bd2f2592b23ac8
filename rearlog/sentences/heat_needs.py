"""What was assumed where a profile does not say it."""

from __future__ import annotations

from collections.abc import Iterable

from rearlog.analysis.stages.heat_needs import Assumption, HeatFromDays, RecentGoesOn
from rearlog.analysis.stages.profile_values import Extrapolation, SpreadAssumed, StagesPassedOver
from rearlog.sentences.phrases import celsius_range, percent


def assumed(found: Iterable[Assumption]) -> tuple[str, ...]:
    """Each assumption in words, each once."""
    return tuple(dict.fromkeys(map(assumption, found)))


def assumption(found: Assumption) -> str:
    """One assumption in words, without a full stop."""
    match found:
        case HeatFromDays(stage, days, rate):
            return (
                f"{stage} takes {days * rate:.0f} degree-days: {days:g} days at {rate:g} degrees "
                "above the lower threshold"
            )
        case SpreadAssumed(stage, share):
            return f"Individuals differ by {percent(share)} (SD) in {stage}"
        case StagesPassedOver(stages):
            return f"Nobody passes through {', '.join(stages)}"
        case Extrapolation(stages, measured, celsius):
            return (
                f"Extrapolated: {', '.join(stages)} measured at {celsius_range(measured)}, "
                f"here {celsius:.1f} °C"
            )
        case RecentGoesOn(last):
            return f"after {last} the mean temperature of the last days goes on"
