"""What each individual should do next, while a round is made."""

from __future__ import annotations

from datetime import datetime

from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.individual_forecast import (
    IndividualForecast,
    individual_forecasts,
)
from rearlog.records.log import CohortLog


def next_events(log: CohortLog, at: datetime) -> dict[str, IndividualForecast]:
    """The next event of each individual that still develops, by its code.

    From all that stands in the log and had been seen at that moment, whenever it was typed in: a
    round of yesterday that is written down today rests on the one before it, even if that was
    written down today too. Raises UsageError for a moment before the cohort's start.
    """
    seen = tuple(
        replace(each, entered=None)
        for checks in log.checks.values()
        for each in checks
        if each.at <= at
    )
    temperatures = tuple(replace(each, entered=None) for each in log.temperatures)
    known = replace(log, all_observations=seen, all_temperatures=temperatures)
    rows = list(individual_forecasts(forecast_model(known, at)))
    return {each.individual: each for each in reversed(rows)}
