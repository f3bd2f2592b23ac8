"""The check sheet for the clipboard: a row an individual, a column a day, last stage filled in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.profile import StageProfile
from rearlog.records.times import at_clock

MOST_DAYS = 14


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One individual and the stage in which it was last seen before the sheet begins."""

    individual: str
    last_stage: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """An empty check sheet. `stages` are those of the cohort's profile, for the legend."""

    cohort: str
    species: str
    place: str | None
    days: tuple[date, ...]
    rows: tuple[SheetRow, ...]
    stages: tuple[StageProfile, ...]
    invented: bool


def check_sheet(log: CohortLog, first: date, days: int = 7) -> Sheet:
    """The sheet for `days` days from `first` on, with every individual that lives when it begins.

    Raises UsageError where nobody lives then, or the days are too many for a page.
    """
    if not 1 <= days <= MOST_DAYS:
        raise UsageError(f"a sheet has 1 to {MOST_DAYS} days, not {days}")
    cohort = log.cohort
    begin = at_clock(first, "00:00", cohort.zone)
    end = at_clock(first + timedelta(days=days), "00:00", cohort.zone)
    states = log.states_at(begin)
    alive = log.alive_at(begin, entered_by=end - timedelta(seconds=1))
    if not alive:
        raise UsageError(f"nobody in {cohort.name} lives on {first}")
    return Sheet(
        cohort.name,
        cohort.species.name,
        cohort.place,
        tuple(first + timedelta(days=step) for step in range(days)),
        tuple(SheetRow(code, states[code].stage) for code in alive),
        cohort.species.stages,
        cohort.invented,
    )
