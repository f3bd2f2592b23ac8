"""What is due today, of one cohort or of all in the folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rearlog.cli.options import CohortName, answering, cohorts_here
from rearlog.cli.present import show
from rearlog.notebook import Notebook
from rearlog.present.tables import Table
from rearlog.records import times
from rearlog.records.asked_round import spelled
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.wording import counted, days_between, overdue, runs_of_days, weekday

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.due import Due, DueEvent


@dataclass(frozen=True, slots=True)
class Today:
    """What is due in some cohorts, the most urgent first."""

    cohorts: tuple[Due, ...]


@dataclass(frozen=True, slots=True)
class TodayRow:
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


@click.command("today")
@click.argument("cohorts", metavar="[COHORT]...", type=CohortName(), nargs=-1)
@click.option("--as-of", metavar="WHEN", help="Another moment, with what was known by then.")
@answering
def today_command(cohorts: tuple[Path, ...], as_of: str | None, form: str) -> None:
    """What is due: who should hatch, molt, pupate or emerge, who is overdue or was not looked at.

    Without a name, of all cohorts in this folder. Days without a temperature are named too.

    \b
    rearlog today
    rearlog today room --as-of 2026-03-20 --format json
    """
    paths = cohorts or tuple(cohorts_here())
    if not paths:
        raise UsageError("there is no cohort in this folder", "name one: rearlog today COHORT")
    found: list[tuple[Due, Notebook]] = []
    failed: list[RearlogError] = []
    for path in paths:
        notebook = Notebook(path)
        try:
            found.append((_due(notebook, as_of), notebook))
        except RearlogError as error:  # one cohort must not hide what is due in the others
            failed.append(error)
    found.sort(key=lambda each: _urgency(each[0]))
    result = Today(tuple(each for each, _ in found))
    if found:
        show(result, form, lambda: list(_tables(found)), list(_rows(result)))
    if failed:
        problems = dict.fromkeys(problem for error in failed for problem in error.problems)
        raise type(failed[0])(problems)


def _due(notebook: Notebook, as_of: str | None) -> Due:
    if as_of is None:
        return notebook.due()
    header = notebook.log.cohort
    now = times.now(header.zone)
    return notebook.due(times.read_moment(as_of, header.zone, header.check_time, now))


def _urgency(found: Due) -> int:
    """Cohorts with an overdue event come first, then those with one that is due, or soon."""
    order = ("overdue", "due", "soon")
    return order.index(found.events[0].when) if found.events else len(order)


def _tables(found: Sequence[tuple[Due, Notebook]]) -> Iterator[Table]:
    """A line a cohort first; then, for each, who should do what when, and what was forgotten."""
    lines = [[each.cohort, each.summary] for each, _ in found]
    yield Table(f"Due on {found[0][0].as_of:%A} {found[0][0].as_of}", ["cohort", "in short"], lines)
    for each, notebook in found:
        order = list(notebook.log.by_code)
        words = [*_forgotten(each, order), *(f"Note: {told}." for told in each.notices)]
        if each.events or words:
            groups: dict[tuple[str, str, date], list[DueEvent]] = {}
            for event in each.events:
                groups.setdefault((_when(event), event.event, event.likely), []).append(event)
            rows = [_event_row(group, order) for group in groups.values()]
            columns = ["when", "event", "who", "likely", "between"]
            yield Table(f"{each.cohort} ({each.species})", columns, rows, words)


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


def _forgotten(found: Due, order: Sequence[str]) -> Iterator[str]:
    """Who was not looked at since when, and the days without a temperature."""
    for last_seen, group in groupby(found.not_seen, lambda each: each.last_seen):
        who = sorted((each.individual for each in group), key=order.index)
        yield f"Not looked at since {weekday(last_seen)}: {spelled(who, order)}."
    missing = found.missing_temperatures
    if missing:
        count = counted(len(missing), "day")
        yield f"No temperature on record for {count}: {runs_of_days(missing)}."


def _rows(result: Today) -> Iterator[TodayRow]:
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
