"""What is due in a cohort now: events to look for, who is overdue, what was not recorded."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.forecasting.forecast_model import ForecastModel
from rearlog.analysis.forecasting.individual_forecast import (
    IndividualForecast,
    individual_forecasts,
)
from rearlog.analysis.forecasting.notices import ForecastNotice, notices
from rearlog.analysis.heat.daily_temperatures import RECORDED, lay_out
from rearlog.analysis.stages.events import ALIVE, FATE_NAMES, StageCount
from rearlog.records.fates import Fate
from rearlog.records.standing import adults_are_watched

if TYPE_CHECKING:
    from rearlog.analysis.stages.in_doubt import InDoubt

SOON_DAYS = 3
"""An event whose window begins within so many days is soon."""


class When(StrEnum):
    """How urgent an event is, the most urgent first."""

    OVERDUE = "overdue"
    DUE = "due"
    SOON = "soon"


class Next(StrEnum):
    """What is to come of those who are not overdue."""

    NOTHING = "nothing"
    """All have come as far as they can."""
    UNFORESEEN = "unforeseen"
    """Nothing can be foretold."""
    NEAR = "near"
    """Events within SOON_DAYS."""
    LATER = "later"
    """The first event is farther off."""


class NextEvents(Struct, frozen=True):
    """What is to come next, `events` and how many should do it, the farthest in development first.
    It is likely `by` a day; with LATER, that is the first event alone."""

    what: Next
    events: tuple[tuple[str, int], ...] = ()
    by: date | None = None


class DueEvent(Struct, frozen=True):
    """The next event of one individual, which is overdue, due (it may come today) or soon.

    For `overdue_days` the window that it had been given is over.
    """

    individual: str
    stage: str
    event: str
    into: str
    when: When
    earliest: date
    likely: date
    latest: date
    overdue_days: float | None


class NotSeen(Struct, frozen=True):
    """A developing individual that nobody looked at yesterday or today, or an adult that is
    watched (see `records.standing.adults_are_watched`)."""

    individual: str
    stage: str
    last_seen: date
    days: int


class Ended(Struct, frozen=True):
    """How many individuals, in the stage in which they were last seen, ended the same way, of the
    same cause (None: not noted)."""

    fate: Fate
    stage: str
    cause: str | None
    n: int


class Due(Answer, frozen=True):
    """What is due in a cohort on the day `as_of`, most urgent first.

    `stages` counts the living, the farthest first. `overdue` are overdue; `next` is what is to come
    of the others, None where there are none. `ended` says what became of those that are no longer
    under watch. `missing_temperatures` are the days before `as_of` of
    which no temperature is on record; `in_doubt` what is, of what was known by then.
    """

    main: ClassVar[str] = "events"

    cohort: str
    species: str
    as_of: date
    alive: int
    stages: tuple[StageCount, ...]
    overdue: int
    next: NextEvents | None
    events: tuple[DueEvent, ...]
    not_seen: tuple[NotSeen, ...]
    missing_temperatures: tuple[date, ...]
    notices: tuple[ForecastNotice, ...]
    in_doubt: tuple[InDoubt, ...]
    ended: tuple[Ended, ...]


def due(told: ForecastModel) -> Due:
    """Pick what matters today from what is expected of each individual."""
    today = told.date_of(told.course.now)
    counts = Counter(told.history.last_rank[told.history.fate == ALIVE].tolist())
    stages = tuple(
        StageCount(told.phases.stages[rank], counts[rank]) for rank in sorted(counts, reverse=True)
    )
    following = _next_events(individual_forecasts(told))
    overdue = sum(each.overdue_days is not None for each in following)
    order = list(told.events.values())
    return Due(
        cohort=told.log.cohort.name,
        species=told.log.cohort.species.scientific_name,
        as_of=today,
        alive=sum(each.n for each in stages),
        stages=stages,
        overdue=overdue,
        next=_next(following, order, today) if not following or overdue < len(following) else None,
        events=tuple(sorted(_due(following, today), key=_urgency)),
        not_seen=tuple(sorted(_not_seen(told, today), key=lambda each: -each.days)),
        missing_temperatures=tuple(_missing(told, today)) if following else (),
        notices=tuple(notices(told)),
        in_doubt=told.in_doubt,
        ended=tuple(_ended(told)),
    )


def _ended(told: ForecastModel) -> Iterator[Ended]:
    """The farthest in development first, and of each stage most first."""
    history = told.history
    rows = zip(history.last_rank.tolist(), history.fate.tolist(), history.causes, strict=True)
    counts = Counter(each for each in rows if each[1] != ALIVE)
    for (rank, fate, cause), n in sorted(counts.items(), key=lambda each: (-each[0][0], -each[1])):
        yield Ended(Fate(FATE_NAMES[fate]), told.phases.stages[rank], cause, n)


def _next_events(rows: Iterable[IndividualForecast]) -> list[IndividualForecast]:
    """The first row of each individual: its next event."""
    following: dict[str, IndividualForecast] = {}
    for each in rows:
        following.setdefault(each.individual, each)
    return list(following.values())


def _due(following: Sequence[IndividualForecast], today: date) -> Iterator[DueEvent]:
    for each in following:
        if each.earliest is None or each.likely is None or each.latest is None:
            continue
        if each.overdue_days is not None:
            when = When.OVERDUE
        elif each.earliest <= today:
            when = When.DUE
        elif each.earliest <= today + timedelta(SOON_DAYS):
            when = When.SOON
        else:
            continue
        yield DueEvent(
            each.individual,
            each.stage,
            each.event,
            each.into,
            when,
            each.earliest,
            each.likely,
            each.latest,
            each.overdue_days,
        )


def _urgency(event: DueEvent) -> tuple[int, float, date, date]:
    return list(When).index(event.when), -(event.overdue_days or 0.0), event.likely, event.latest


def _not_seen(told: ForecastModel, today: date) -> Iterator[NotSeen]:
    expected = told.predictive.next_stage >= 0
    adult = (told.history.fate == ALIVE) & (told.history.last_rank == len(told.phases.stages) - 1)
    if adult.any() and adults_are_watched(told.log):
        expected = expected | adult
    for row in np.flatnonzero(expected).tolist():
        last = told.date_of(float(told.history.last_check[row]))
        if last < today - timedelta(1):
            yield NotSeen(
                told.history.codes[row],
                told.phases.stages[told.history.last_rank[row]],
                last,
                (today - last).days,
            )


def _missing(told: ForecastModel, today: date) -> Iterator[date]:
    laid_out = lay_out(told.log)
    for day, status in zip(laid_out.dates, laid_out.status, strict=True):
        if day < today and status != RECORDED:
            yield day
    beyond = laid_out.dates[-1] + timedelta(1)
    for step in range((today - beyond).days):
        yield beyond + timedelta(step)


def _next(following: Sequence[IndividualForecast], order: Sequence[str], today: date) -> NextEvents:
    """Who should do what by when; overdue ones are left out."""
    if not following:
        return NextEvents(Next.NOTHING)
    known = [(each.likely, each) for each in following if each.likely and not each.overdue_days]
    if not known:
        return NextEvents(Next.UNFORESEEN)
    near = [(day, each) for day, each in known if day <= today + timedelta(SOON_DAYS)]
    if not near:
        day, first = min(known, key=lambda each: each[0])
        return NextEvents(Next.LATER, ((first.event, 1),), day)
    counts = Counter(each.event for _, each in near)
    events = tuple((event, counts[event]) for event in reversed(order) if event in counts)
    return NextEvents(Next.NEAR, events, max(max(day for day, _ in near), today))
