"""What past forecasts of a cohort were worth: each as of its day, beside what happened."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.forecast_model import ForecastModel, forecast_model
from rearlog.analysis.stages.events import EventHistory, event_history
from rearlog.records.clock import midnights
from rearlog.records.log import CohortLog

MOST = 12
"""A long log is reviewed on so many days, spread evenly."""

NEXT = "next event"


class ForecastReview(Struct, frozen=True):
    """The forecasts of one day: of each individual's next event, or of the last one.

    Of those, `n` have come since, `inside` of them certainly and `outside` certainly not within
    their window; of the others the checks cannot tell. On average they lay `days_ahead` ahead, came
    `days_late` later than the likely moment (negative: sooner), and `days_off` off it either way;
    here an event counts with the middle of its interval.
    """

    as_of: date
    event: str
    n: int
    inside: int
    outside: int
    days_ahead: float
    days_late: float
    days_off: float


class ReviewSummary(Struct, frozen=True):
    """All `n` forecasts of an event: the parts that were certainly `inside` and `outside` their
    windows, and how far they were off on average, as in `ForecastReview`."""

    event: str
    n: int
    inside: float
    outside: float
    days_late: float
    days_off: float


class Review(Answer, frozen=True):
    """All reviews of a cohort, in the order of the days, and what they come to."""

    cohort: str
    reviews: tuple[ForecastReview, ...]
    summaries: tuple[ReviewSummary, ...]


def review(log: CohortLog, as_of: datetime) -> Review:
    """Make the forecast of each day of checks as it would have been made at the end of that day.

    Each used only what was known by then, with the mean of the last days for the temperature to
    come.
    """
    known = log.as_of(as_of)
    happened = event_history(known)
    rows: list[ForecastReview] = []
    for moment in _ends_of_days(known):
        if moment < as_of:
            rows += _reviews(forecast_model(log, moment), happened)
    return Review(log.cohort.name, tuple(rows), tuple(_summaries(rows)))


def _ends_of_days(log: CohortLog) -> list[datetime]:
    """The last moments of up to MOST days on which someone looked."""
    clock = log.cohort.clock
    every = (each for checks in log.checks.values() for each in checks)
    days = sorted({clock.day(each.at) for each in every})
    chosen = {round(place) for place in np.linspace(0, len(days) - 1, MOST)} if days else set()
    ends = [midnights(days[place], 1, log.cohort.zone)[1] for place in sorted(chosen)]
    return [end - timedelta(seconds=1) for end in ends]


def _reviews(told: ForecastModel, happened: EventHistory) -> Iterator[ForecastReview]:
    place = {code: row for row, code in enumerate(happened.codes)}
    rows = np.array([place[code] for code in told.history.codes], dtype=np.int64)
    came = np.stack((happened.into_low[rows], happened.into_high[rows]))
    days = told.days(told.predictive.quantile(told.moments[:, None, None]))
    everyone = np.arange(len(rows))
    last = list(told.events.values())[-1]
    for event, ranks in ((NEXT, told.predictive.next_stage), (last, np.full(len(rows), -1))):
        row = _compared(told, event, came[:, everyone, ranks], days[:, everyone, ranks])
        if row is not None:
            yield row


def _compared(told: ForecastModel, event: str, came: Floats, days: Floats) -> ForecastReview | None:
    """Forecasts of one event, days (3, n), beside the intervals (2, n; NaN: not yet) it came in."""
    both = np.flatnonzero(~np.isnan(came).any(axis=0) & ~np.isnan(days).any(axis=0))
    if len(both) == 0:
        return None
    low, high = came[:, both]
    middle = (low + high) / 2
    windows = [told.window(days[:, row]) for row in both]
    first = np.array([told.day_of(each.earliest) for each in windows if each])
    end = np.array([told.day_of(each.latest + timedelta(1)) for each in windows if each])
    late = middle - days[1, both]
    return ForecastReview(
        as_of=told.date_of(told.course.now),
        event=event,
        n=len(both),
        inside=int(((first <= low) & (high < end)).sum()),
        outside=int(((high < first) | (low >= end)).sum()),
        days_ahead=float((middle - told.course.now).mean()),
        days_late=float(late.mean()),
        days_off=float(np.abs(late).mean()),
    )


def _summaries(rows: list[ForecastReview]) -> Iterator[ReviewSummary]:
    for event in dict.fromkeys(row.event for row in rows):
        own = [row for row in rows if row.event == event]
        n = sum(row.n for row in own)
        yield ReviewSummary(
            event,
            n,
            inside=sum(row.inside for row in own) / n,
            outside=sum(row.outside for row in own) / n,
            days_late=sum(row.days_late * row.n for row in own) / n,
            days_off=sum(row.days_off * row.n for row in own) / n,
        )
