"""What is known of a cohort at a moment, and what follows from it for the days to come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

import numpy as np

from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.cohort_pace import CohortPace, cohort_pace
from rearlog.analysis.forecasting.future_temperature import (
    LIKE_LATELY,
    FutureTemperature,
    TemperatureCourse,
    temperature_course,
)
from rearlog.analysis.forecasting.individual_state import individual_states
from rearlog.analysis.forecasting.passages import passages
from rearlog.analysis.forecasting.phases import Phases, phases
from rearlog.analysis.forecasting.predictive_distribution import PredictiveDistribution, predict
from rearlog.analysis.stages.events import EventHistory, event_history, event_names
from rearlog.analysis.statistics.levels import WINDOW, tails
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.wording import stamp

EARLIEST, LATEST = tails(WINDOW)
MOMENTS = (EARLIEST, 0.5, LATEST)
"""Of a window: earliest, likely (the median) and latest."""

SHORT_DAYS = 3.0
"""Shorter windows have every day that they touch."""

FARTHEST_DAYS = 1000.0
"""What would come later than this is not foretold."""

_POINTS = (np.arange(50) + 0.5) / 50


class Window(NamedTuple):
    """Calendar days (in the cohort's zone) between which something comes (see WINDOW)."""

    earliest: date
    likely: date
    latest: date


UNFORESEEN = (None, None, None)
"""Instead of a window where it cannot be foretold."""


@dataclass(frozen=True, eq=False)
class ForecastModel:
    """A cohort at the moment `as_of`: its records until then, and what they lead one to expect."""

    log: CohortLog
    as_of: datetime
    history: EventHistory
    course: TemperatureCourse
    phases: Phases
    pace: CohortPace
    predictive: PredictiveDistribution

    @property
    def events(self) -> dict[str, str]:
        """The name of the passage into each stage but the first."""
        return {
            stage: f"molt to {stage}" if name == "molt" else name
            for stage, name in event_names(self.phases.stages).items()
        }

    def days(self, amounts: Floats) -> Floats:
        """The days since zero by which amounts have come together; NaN if not foreseeable."""
        days = self.course.day(amounts)
        return np.where(days < self.course.now + FARTHEST_DAYS, days, np.nan)

    def date_of(self, day: float) -> date:
        """The calendar day of a moment (days since zero) in the cohort's zone."""
        return self.log.cohort.clock.day_after(day)

    def day_of(self, date: date) -> float:
        """The moment (days since zero) at which a calendar day begins in the cohort's zone."""
        return self.log.cohort.clock.midnights(date, 0)[0]

    def window(self, days: Floats) -> Window | None:
        """The calendar days of a window, from its three moments (3,); None where one is unknown.

        A long one begins and ends with the midnights nearest to its bounds, so that whole days
        make it no wider on average. Of a short one they would cut off too much: it has every day
        that it touches, and never one day alone, for what comes after the check of a day is seen
        on the next.
        """
        if np.isnan(days).any():
            return None
        inward = 0.5 if days[2] - days[0] >= SHORT_DAYS else 0.0
        likely = self.date_of(days[1])
        first, last = self.date_of(days[0] + inward), self.date_of(days[2] - inward)
        first = min(first, likely)
        return Window(first, likely, max(last, likely, first + timedelta(1)))

    def pooled(self, rank: int, p: Sequence[float]) -> Floats:
        """The amounts by which shares `p` (k,) of those to come into a stage have done so, (k,)."""
        amounts = self.predictive.quantile(_POINTS[:, None, None])[:, :, rank]
        known = amounts[~np.isnan(amounts)]
        return np.quantile(known, p) if len(known) else np.full(len(p), np.nan)


def forecast_model(
    log: CohortLog, as_of: datetime, coming: FutureTemperature = LIKE_LATELY
) -> ForecastModel:
    """Foretell from what was known of a cohort at a moment, and from nothing later.

    Raises UsageError for a moment before the cohort's start.
    """
    if as_of < log.cohort.started:
        raise UsageError(
            f"{stamp(as_of)} is before the cohort's start",
            f"it started at {stamp(log.cohort.started)}",
        )
    known = log.as_of(as_of)
    history = event_history(known)
    temperatures = temperature_course(known, as_of, coming)
    expected = phases(log.cohort.species, temperatures.unit, temperatures.rate)
    seen = passages(history, expected, temperatures)
    pace = cohort_pace(seen, expected)
    stands = individual_states(seen, expected, pace.mean)
    foreseen = predict(seen, expected, pace, stands, temperatures)
    return ForecastModel(known, as_of, history, temperatures, expected, pace, foreseen)
