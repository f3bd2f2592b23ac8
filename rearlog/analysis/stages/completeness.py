"""How complete a log is: which looks were forgotten, which temperatures are missing."""

from __future__ import annotations

from datetime import date, timedelta

from rearlog.analysis.answer import Answer
from rearlog.analysis.heat.daily_temperatures import Temperatures
from rearlog.analysis.stages.stage_heat import Coverage, coverage
from rearlog.records.log import CohortLog


class Completeness(Answer, frozen=True):
    """What a log rests on.

    `days` are the calendar days from the start to the last check; on `unchecked` nobody was
    looked at. `missed` of the `due` daily looks (one a day and living individual) were not made.
    """

    cohort: str
    checks: int
    struck: int
    days: int
    unchecked: tuple[date, ...]
    due: int
    missed: int
    temperatures: Coverage
    missing_temperatures: tuple[date, ...]


def completeness(log: CohortLog, temperatures: Temperatures) -> Completeness:
    """Count the looks that were due and made, and the temperatures that are known."""
    day_of = log.cohort.clock.day
    first = day_of(log.cohort.started)
    looked: set[date] = set()
    due = made = 0
    for code, checks in log.checks.items():
        days = {day_of(check.at) for check in checks}
        looked |= days
        begin = day_of(log.by_code[code].entered_at)
        due += (max(days, default=begin) - begin).days
        made += len(days - {begin})
    last = max(looked, default=first)
    span = (last - first).days
    unchecked = tuple(
        day for step in range(1, span + 1) if (day := first + timedelta(days=step)) not in looked
    )
    struck = sum(1 for each in log.all_observations if each.struck is not None)
    return Completeness(
        cohort=log.cohort.name,
        checks=len(log.all_observations) - struck,
        struck=struck,
        days=span + 1,
        unchecked=unchecked,
        due=due,
        missed=due - made,
        temperatures=coverage(temperatures),
        missing_temperatures=temperatures.missing_dates,
    )
