"""What is known of a cohort at a moment, and what follows from it for the days to come."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.cohort_pace import CohortPace, cohort_pace
from rearlog.analysis.forecasting.cohort_spread import Spread, cohort_spread
from rearlog.analysis.forecasting.experience import Experience, experience
from rearlog.analysis.forecasting.future_temperature import (
    LIKE_LATELY,
    FutureTemperature,
    TemperatureCourse,
    temperature_course,
)
from rearlog.analysis.forecasting.individual_state import individual_states
from rearlog.analysis.forecasting.passages import passages
from rearlog.analysis.forecasting.phases import Phases, Unit, phases
from rearlog.analysis.forecasting.predictive_distribution import PredictiveDistribution, predict
from rearlog.analysis.stages.events import EventHistory, event_history, event_names
from rearlog.analysis.stages.in_question import in_question
from rearlog.analysis.statistics.levels import WINDOW, tails
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.times import at_clock
from rearlog.records.wording import stamp

if TYPE_CHECKING:
    from rearlog.analysis.stages.in_doubt import InDoubt

SHORT_DAYS = 3.0
"""Shorter windows have every day that they touch."""

FARTHEST_DAYS = 1000.0
"""What would come later than this is not foretold."""

_POINTS = (np.arange(50) + 0.5) / 50


class Window(NamedTuple):
    """Calendar days (in the cohort's zone) between which something comes."""

    earliest: date
    likely: date
    latest: date


UNFORESEEN = (None, None, None)
"""Instead of a window where it cannot be foretold."""


class ForecastModel(Struct, frozen=True):
    """A cohort at the moment `as_of`: its records until then, and what they lead one to expect.

    Windows hold `part` of what is to come. `learned` is the spread between individuals, which
    `phases` have. `past_cohorts` of the same species have told of this one. `in_doubt` is what
    contradicts another look; whose looks do has taught nothing of the spread.
    """

    log: CohortLog
    as_of: datetime
    history: EventHistory
    course: TemperatureCourse
    phases: Phases
    pace: CohortPace
    learned: Spread
    predictive: PredictiveDistribution
    part: float
    past_cohorts: int
    in_doubt: tuple[InDoubt, ...]

    @property
    def moments(self) -> Floats:
        """Shares that mark a window: earliest, likely (the median) and latest, (3,)."""
        earliest, latest = tails(self.part)
        return np.array((earliest, 0.5, latest))

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

    def seen_on(self, day: float) -> date:
        """The calendar day of the first usual check at or after a moment (days since zero)."""
        cohort = self.log.cohort
        seen = self.date_of(day)
        while cohort.clock.days(at_clock(seen, cohort.check_time, cohort.zone)) < day:
            seen += timedelta(1)
        return seen

    def pooled(self, rank: int, p: Floats) -> Floats:
        """The amounts by which shares `p` (k,) of those to come into a stage have done so, (k,)."""
        amounts = self.predictive.quantile(_POINTS[:, None, None])[:, :, rank]
        known = amounts[~np.isnan(amounts)]
        return np.quantile(known, p) if len(known) else np.full(len(p), np.nan)


def forecast_model(
    log: CohortLog,
    as_of: datetime,
    coming: FutureTemperature = LIKE_LATELY,
    *,
    part: float = WINDOW,
    past: Sequence[CohortLog] = (),
) -> ForecastModel:
    """Foretell from what was known of a cohort at a moment, and from nothing later.

    Windows hold `part`. `past` are cohorts of the same place, of which is known how fast and how
    uneven they were. Raises UsageError for a moment before the cohort's start, and for a past
    cohort of another species.
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
    before = _experience(log, as_of, past, temperatures.unit, len(expected.mean))
    seen = passages(history, expected, temperatures)
    doubts = _in_doubt(known, history)
    doubtful = {each.individual for each in doubts if each.kind.of_stages}
    sure = np.array([code not in doubtful for code in history.codes], dtype=bool)
    learned = cohort_spread(seen.of(sure), expected, before.spread, before.pace)
    expected = learned.of(expected)
    pace = cohort_pace(seen, expected, before.pace)
    stands = individual_states(seen, expected, pace.mean)
    foreseen = predict(seen, expected, pace, stands, temperatures)
    return ForecastModel(
        known,
        as_of,
        history,
        temperatures,
        expected,
        pace,
        learned,
        foreseen,
        part,
        before.cohorts if np.isfinite(expected.mean).any() else 0,
        doubts,
    )


def _in_doubt(known: CohortLog, history: EventHistory) -> tuple[InDoubt, ...]:
    if not in_question(known, history):
        return ()
    from rearlog.analysis.stages.in_doubt import in_doubt  # start-up time

    return in_doubt(known, history)


def _experience(
    log: CohortLog, as_of: datetime, past: Sequence[CohortLog], unit: Unit, phases: int
) -> Experience:
    """What past cohorts tell of this one, or the profile alone where there are none."""
    learned = []
    for each in past:
        if each.cohort.species.codes != log.cohort.species.codes:
            told = f"{each.cohort.name} is of {each.cohort.species.scientific_name}"
            mine = f"{log.cohort.name} is of {log.cohort.species.scientific_name}"
            raise UsageError(told, f"{mine}: leave {each.cohort.name} out")
        model = forecast_model(each, max(as_of, each.cohort.started))
        if model.phases.unit != unit:
            in_days = each if model.phases.unit == "days" else log
            raise UsageError(
                f"{each.cohort.name} counts development in {model.phases.unit}, "
                f"{log.cohort.name} in {unit}",
                _instead_of_days(in_days) + f"leave {each.cohort.name} out",
            )
        if len(model.phases.mean) != phases:
            told = f"the profile of {each.cohort.name} knows other stages by their length"
            raise UsageError(f"{told} than that of {log.cohort.name}", "leave it out")
        learned.append((model.pace, model.learned))
    return experience(learned, phases)


def _instead_of_days(log: CohortLog) -> str:
    """What to do about a cohort whose development is counted in days, before another way out."""
    cohort = log.cohort
    if cohort.species.lower is None:
        return f"the profile of {cohort.name} has no lower threshold: "
    how = CommandText(f" with “rearlog temps {cohort.name}”", "")
    return f"record the temperatures of {cohort.name}" + how + ", or "
