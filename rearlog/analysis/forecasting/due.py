"""What is due in a cohort now: events to look for, who is overdue, what was not recorded."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from rearlog.analysis.forecasting.forecast import IndividualForecast, individual_forecasts, notices
from rearlog.analysis.forecasting.model import ForecastModel
from rearlog.analysis.heat.daily_temperatures import RECORDED, lay_out
from rearlog.analysis.stages.events import ALIVE
from rearlog.analysis.stages.progress import StageCount
from rearlog.records.wording import weekday

OVERDUE, DUE, SOON = "overdue", "due", "soon"
SOON_DAYS = 3
"""An event whose window begins within so many days is soon."""

_PLURALS = {"egg": "eggs", "prepupa": "prepupae", "pupa": "pupae", "adult": "adults"}
_VERBS = {"pupation": "pupate", "eclosion": "emerge"}


@dataclass(frozen=True, slots=True)
class DueEvent:
    """The next event of one individual, which is overdue, due (it may come today) or soon.

    For `overdue_days` the window of 90 % that it had been given is over.
    """

    individual: str
    stage: str
    event: str
    into: str
    when: str
    earliest: date
    likely: date
    latest: date
    overdue_days: float | None


@dataclass(frozen=True, slots=True)
class NotSeen:
    """A developing individual that nobody looked at yesterday or today."""

    individual: str
    stage: str
    last_seen: date
    days: int


@dataclass(frozen=True, slots=True)
class Due:
    """What is due in a cohort on the day `as_of`, most urgent first; `summary` says it in a line.

    `stages` counts the living, the farthest first. `missing_temperatures` are the days before
    `as_of` of which no temperature is on record.
    """

    cohort: str
    species: str
    as_of: date
    summary: str
    alive: int
    stages: tuple[StageCount, ...]
    events: tuple[DueEvent, ...]
    not_seen: tuple[NotSeen, ...]
    missing_temperatures: tuple[date, ...]
    notices: tuple[str, ...]


def due(told: ForecastModel) -> Due:
    """Pick what matters today from what is expected of each individual."""
    today = told.date_of(told.course.now)
    counts = Counter(told.history.last_rank[told.history.fate == ALIVE].tolist())
    stages = tuple(
        StageCount(told.phases.stages[rank], counts[rank]) for rank in sorted(counts, reverse=True)
    )
    following = _next_events(individual_forecasts(told))
    alive = sum(each.n for each in stages)
    not_seen = sorted(_not_seen(told, today), key=lambda each: -each.days)
    order = list(told.events.values())
    return Due(
        cohort=told.log.cohort.name,
        species=told.log.cohort.species.scientific_name,
        as_of=today,
        summary=_summary(stages, following, not_seen, order, today),
        alive=alive,
        stages=stages,
        events=tuple(sorted(_due(following, today), key=_urgency)),
        not_seen=tuple(not_seen),
        missing_temperatures=tuple(_missing(told, today)) if following else (),
        notices=tuple(notices(told)),
    )


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
            when = OVERDUE
        elif each.earliest <= today:
            when = DUE
        elif each.earliest <= today + timedelta(SOON_DAYS):
            when = SOON
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
    rank = (OVERDUE, DUE, SOON).index(event.when)
    return rank, -(event.overdue_days or 0.0), event.likely, event.latest


def _not_seen(told: ForecastModel, today: date) -> Iterator[NotSeen]:
    for row in np.flatnonzero(told.predictive.next_stage >= 0).tolist():
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


def _summary(
    stages: Sequence[StageCount],
    following: Sequence[IndividualForecast],
    not_seen: Sequence[NotSeen],
    order: Sequence[str],
    today: date,
) -> str:
    if not stages:
        return "Nobody is alive."
    counted = ", ".join(f"{each.n} {_named(each)}" for each in stages)
    parts = [f"{sum(each.n for each in stages)} alive: {counted}"]
    overdue = sum(each.overdue_days is not None for each in following)
    if overdue:
        parts.append(f"{overdue} overdue")
        if not_seen:
            parts.append(_unseen(not_seen))
    if not following or overdue < len(following):
        parts.append(_to_come(following, order, today))
    return "; ".join(parts)


def _unseen(not_seen: Sequence[NotSeen]) -> str:
    """How many were not looked at, and since when: they may have done long since what is due."""
    days = {each.days for each in not_seen}
    if len(days) == 1:
        return f"{len(not_seen)} not looked at since {weekday(not_seen[0].last_seen)}"
    return f"{len(not_seen)} not looked at for {min(days)} to {max(days)} days"


def _named(count: StageCount) -> str:
    return count.stage if count.n == 1 else _PLURALS.get(count.stage, count.stage)


def _to_come(following: Sequence[IndividualForecast], order: Sequence[str], today: date) -> str:
    """Who should do what by when, the farthest first, overdue ones left out."""
    if not following:
        return "nothing more is to come"
    known = [(each.likely, each) for each in following if each.likely and not each.overdue_days]
    if not known:
        return "nothing else can be foretold"
    near = [(day, each) for day, each in known if day <= today + timedelta(SOON_DAYS)]
    if not near:
        day, first = min(known, key=lambda each: each[0])
        return f"the next should {_verb(first.event)} about {day:%A} {day.day} {day:%B}"
    by = max(max(day for day, _ in near), today)
    counts = Counter(each.event for _, each in near)
    doing = [f"{counts[event]} {_verb(event)}" for event in reversed(order) if event in counts]
    doing[0] = doing[0].replace(" ", " should ", 1)
    told = " and ".join((", ".join(doing[:-1]), doing[-1])) if len(doing) > 1 else doing[0]
    return f"{told} by {'today' if by == today else f'{by:%A}'}"


def _verb(event: str) -> str:
    return _VERBS.get(event, event)
