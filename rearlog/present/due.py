"""The tables of what is due, of one cohort or of several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from rearlog.present.tables import Table
from rearlog.records.wording import days_between, overdue, spelled, weekday

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.due import Due, DueEvent


class Today(Struct, frozen=True):
    """What is due in some cohorts, the most urgent first."""

    cohorts: tuple[Due, ...]


class TodayRow(Struct, frozen=True):
    """One matter of one cohort. `when`: overdue, due, soon, not seen, or no temperature (`since`
    is then the day); `days` are those overdue or not seen."""

    cohort: str
    when: str
    individual: str | None = None
    stage: str | None = None
    event: str | None = None
    earliest: date | None = None
    likely: date | None = None
    latest: date | None = None
    since: date | None = None
    days: float | None = None


def due_tables(result: Today, orders: Sequence[Sequence[str]]) -> Iterator[Table]:
    """A line a cohort first; then, for each, who should do what when, and what was forgotten.

    `orders` are the individuals of each cohort in the order in which they are named.
    """
    from rearlog.sentences.due import (  # start-up time: loads numbers
        forgotten,
        notices,
        summary,
        to_mend,
        waits,
    )

    lines = [[each.cohort, summary(each)] for each in result.cohorts]
    day = result.cohorts[0].as_of
    yield Table(f"Due on {day:%A} {day}", ["cohort", "in short"], lines)
    for each, order in zip(result.cohorts, orders, strict=True):
        mendable = to_mend(each)
        words = [*waits(each), *forgotten(each, order)]
        words += [f"Note: {told}." for told in mendable]
        noted = [f"Note: {told}." for told in notices(each) if told not in mendable]
        if each.events or words:
            groups: dict[tuple[str, str, date], list[DueEvent]] = {}
            for event in each.events:
                groups.setdefault((_when(event), event.event, event.likely), []).append(event)
            rows = [_event_row(group, order) for group in groups.values()]
            columns = ["when", "event", "who", "likely", "between"] if rows else []
            yield Table(f"{each.cohort} ({each.species})", columns, rows, words)
        if noted:
            yield Table(f"{each.cohort}: what this rests on", [], [], noted, full=True)


def _when(event: DueEvent) -> str:
    """Overdue (and for how long), due or soon."""
    return event.when if event.overdue_days is None else overdue(event.overdue_days)


def _event_row(events: Sequence[DueEvent], order: Sequence[str]) -> list[Any]:
    first = events[0]
    who = sorted((each.individual for each in events), key=order.index)
    earliest = min(each.earliest for each in events)
    latest = max(each.latest for each in events)
    return [
        _when(first),
        first.event,
        spelled(who, order),
        weekday(first.likely),
        days_between(earliest, latest),
    ]


def due_rows(result: Today) -> Iterator[TodayRow]:
    """Every matter of every cohort."""
    for each in result.cohorts:
        for event in each.events:
            yield TodayRow(
                each.cohort,
                event.when,
                event.individual,
                event.stage,
                event.event,
                event.earliest,
                event.likely,
                event.latest,
                days=event.overdue_days,
            )
        for one in each.not_seen:
            yield TodayRow(
                each.cohort,
                "not seen",
                one.individual,
                one.stage,
                since=one.last_seen,
                days=one.days,
            )
        for day in each.missing_temperatures:
            yield TodayRow(each.cohort, "no temperature", since=day)
