"""What a reader should know of a forecast, in words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from rearlog.analysis.forecasting.future_temperature import (
    NoTemperatureOnRecord,
    NoTemperatureSince,
)
from rearlog.analysis.forecasting.notices import (
    CountedInDays,
    ForecastNotice,
    LengthUnknown,
    NoLengthKnown,
    StandsStill,
)
from rearlog.analysis.forecasting.phases import DaysOnly
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.stages.profile_values import Extrapolation, SpreadAssumed, StagesPassedOver
from rearlog.records.command_text import CommandText
from rearlog.sentences.gap_filling import gaps, remedy
from rearlog.sentences.heat_needs import assumption
from rearlog.sentences.phrases import celsius_range, percent

_LEARN = CommandText(
    "; to learn it of cohorts that are over: rearlog species learn COHORT -o FILE", ""
)


def noticed(found: Iterable[ForecastNotice], cohort: str) -> tuple[str, ...]:
    """Each notice about a cohort in words, without a full stop."""
    return tuple(_notice(each, cohort) for each in found)


def _notice(found: ForecastNotice, cohort: str) -> str:
    match found:
        case TemperatureGaps():
            return gaps(found)
        case NoTemperatureSince(last):
            return f"No temperature since {last}" + remedy(cohort, last + timedelta(1))
        case NoTemperatureOnRecord(celsius, planned):
            source = "planned for the cohort" if planned else "given for the days to come"
            return f"No temperature on record: taken to have been {celsius:g} °C, as {source}"
        case CountedInDays():
            return _counted_in_days(found)
        case Extrapolation():
            return assumption(found)
        case StandsStill(celsius):
            return f"At {celsius:.1f} °C development stands still"
        case NoLengthKnown():
            return (
                "Nothing can be foretold: nobody has said how long the stages of this species "
                "take" + _LEARN
            )
        case LengthUnknown(stage):
            return f"How long {stage} takes is not known: nothing beyond it"
        case DaysOnly(stage, days, rate):
            at = "whatever the temperature" if rate is None else f"at {rate:g} degrees above it"
            return f"{stage} is known in days, not in degree-days: {days:g} days {at}"
        case SpreadAssumed(stage, share):
            return f"Individuals are taken to differ by {percent(share)} (SD) in {stage}"
        case StagesPassedOver(stages):
            return f"Passed over unless seen: {', '.join(stages)}"


def _counted_in_days(found: CountedInDays) -> str:
    lacks = "temperature" if found.threshold_known else "lower threshold"
    ends = [celsius for each in found.measured_celsius for celsius in each]
    at = f"at {celsius_range((min(ends), max(ends)))}" if ends else "whatever the temperature"
    return f"No {lacks} is known: counted in the profile's days, {at}"
