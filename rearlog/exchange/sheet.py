"""The check sheet for the clipboard: a row an individual, a column a day, last stage filled in."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog, Observation
from rearlog.records.profile import StageProfile
from rearlog.records.times import at_clock

MOST_DAYS = 14
EXAMPLE = "example"
"""Stands where a row that shows how to fill in the others has the code of an individual."""

NO_CHANGE = "."


class SheetRow(Struct, frozen=True):
    """One individual, the stage in which it was last seen, and what it was seen to be on each day.

    `seen` has a stage, a fate or NO_CHANGE for each day, and nothing where nobody has looked.
    """

    individual: str
    last_stage: str
    seen: tuple[str, ...] = ()


class Sheet(Struct, frozen=True):
    """A check sheet to be filled in. `stages` are those of the cohort's profile, for the legend."""

    cohort: str
    species: str
    place: str | None
    days: tuple[date, ...]
    rows: tuple[SheetRow, ...]
    stages: tuple[StageProfile, ...]
    invented: bool

    @property
    def example(self) -> SheetRow:
        """A row that shows how a row is filled in: a molt, no change, no look, a death."""
        before = min(2, len(self.stages) - 2)
        told = (self.stages[before + 1].code, NO_CHANGE, "", NO_CHANGE, "dead")
        return SheetRow(EXAMPLE, self.stages[before].code, told[: len(self.days)])


def first_day(log: CohortLog, now: datetime) -> date:
    """The first day of which the looks are still to come: today, or tomorrow.

    Tomorrow is it where everyone who lives was looked at today, or came into the cohort today.
    """
    day = log.cohort.clock.day
    today = day(now)
    states, alive = log.states_at(now), log.alive_at(now)
    done = bool(alive) and all(day(states[code].seen) == today for code in alive)
    return today + timedelta(days=1) if done else today


def check_sheet(log: CohortLog, first: date, now: datetime, days: int = 7) -> Sheet:
    """The sheet for `days` days from `first` on, with every individual that lives now.

    The last stage is the last that is known now, and days of the sheet that have been looked at
    already show what was seen. A sheet for days that are all over, to write down what stood on
    paper, has those that lived when it begins, and the stages in which they were then.

    Raises UsageError where nobody lives then, or the days are too many for a page.
    """
    if not 1 <= days <= MOST_DAYS:
        raise UsageError(f"a sheet has 1 to {MOST_DAYS} days, not {days}")
    cohort = log.cohort
    begin = at_clock(first, "00:00", cohort.zone)
    end = at_clock(first + timedelta(days=days), "00:00", cohort.zone)
    known = begin if now >= end else max(begin, now)
    states = log.states_at(known)
    alive = log.alive_at(known, entered_by=end - timedelta(seconds=1))
    if not alive:
        raise UsageError(f"nobody in {cohort.name} lives on {max(first, cohort.clock.day(known))}")
    dates = tuple(first + timedelta(days=step) for step in range(days))
    looks = [check for code in alive for check in log.checks[code] if begin <= check.at < end]
    seen = {(check.individual, cohort.clock.day(check.at)): _told(check) for check in looks}
    return Sheet(
        cohort.name,
        cohort.species.name,
        cohort.place,
        dates,
        tuple(
            SheetRow(code, states[code].stage, tuple(seen.get((code, day), "") for day in dates))
            for code in alive
        ),
        cohort.species.stages,
        cohort.invented,
    )


def _told(check: Observation) -> str:
    return check.fate or (NO_CHANGE if check.same else check.stage or NO_CHANGE)
