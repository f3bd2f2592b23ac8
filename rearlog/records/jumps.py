"""Whether an individual can have come from one stage to another in the time between two looks.

The stages that lie whole between two looks (optional ones left out) need time: that in which the
fastest passes through them, as far as the profile tells. The stage before may just have been about
to end, and the one after have just begun, so neither of them counts. What takes longer than there
was is a doubt, not an error: the profile may be wrong, or either look.

Asked with every entry, hence in plain arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from rearlog.records.clock import SECONDS_PER_DAY, CohortClock
from rearlog.records.errors import Problem
from rearlog.records.log import (
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Observation,
    Temperature,
)
from rearlog.records.profile import Profile, Quantity, StageProfile
from rearlog.records.wording import named, record_name, spelled

SPREADS = 3.0
"""Where a profile gives a mean and an SD, the fastest is so many SD below it: one in 700."""
HALF = 0.5
"""Where it gives a mean alone, the fastest needs so much of it."""

Warmth = Callable[[datetime, datetime], float | None]
"""How warm it was at most (°C) between two looks; None where nobody knows."""


def fastest(known: Quantity) -> float:
    """The least that an individual needs of a quantity, as far as a profile tells."""
    if known.low is not None:
        return known.low
    assert known.value is not None
    return max(0.0, known.value - SPREADS * known.sd) if known.sd else HALF * known.value


def fastest_days(profile: Profile, stage: StageProfile, celsius: float | None = None) -> float:
    """The fewest days in a stage at a temperature; 0 where the profile does not tell.

    By degree-days where the temperature, they and a lower threshold are known; else by the days,
    unless it is warmer than what they hold for. Without a temperature the shorter of the days and
    what the degree-days come to at the upper threshold, where nothing develops faster.
    """
    upper = None if profile.upper is None else profile.upper.centre
    warm = upper if celsius is None else celsius if upper is None else min(celsius, upper)
    by_heat = None
    if stage.degree_days is not None and profile.lower is not None and warm is not None:
        above = warm - profile.lower.centre
        by_heat = fastest(stage.degree_days) / above if above > 0 else None
    if celsius is not None and by_heat is not None:
        return by_heat
    by_days = None
    if stage.days is not None:
        holds_for = stage.days.at_celsius
        warmer = celsius is not None and holds_for is not None and celsius > holds_for[1]
        by_days = None if warmer else fastest(stage.days)
    return min((each for each in (by_days, by_heat) if each is not None), default=0.0)


def least_days(profile: Profile, before: str, after: str, celsius: float | None = None) -> float:
    """The fewest days from the end of one stage to the beginning of a later one."""
    between = _between(profile, before, after)
    return sum(fastest_days(profile, each, celsius) for each in between)


def _between(profile: Profile, before: str, after: str) -> list[StageProfile]:
    passed = profile.stages[profile.rank[before] + 1 : profile.rank[after]]
    return [each for each in passed if not each.optional]


class Jump(Struct, frozen=True):
    """A look that shows a later stage than there was time for since the stage said `before` (None:
    as it entered), and what is wrong with that."""

    look: Observation
    before: Observation | None
    problem: Problem


def jumps_of(
    profile: Profile, individual: Individual, checks: Iterable[Observation], warmth: Warmth
) -> Iterator[Jump]:
    """The looks of an individual, in time order, that show a later stage than there was time for.

    The time counts from the look before, “no change” included.
    """
    rank = profile.rank
    highest, since, said = individual.stage, individual.entered_at, "it entered as"
    before: Observation | None = None
    for check in checks:
        later = check.stage is not None and rank[check.stage] > rank[highest]
        if check.stage is not None and later:
            days = (check.at - since).total_seconds() / SECONDS_PER_DAY
            codes = [each.code for each in _between(profile, highest, check.stage)]
            celsius = warmth(since, check.at) if codes else None
            needed = least_days(profile, highest, check.stage, celsius)
            if needed > days:
                problem = Problem(
                    f"{check.stage} is {days:.1f} days after {highest}, and "
                    f"{spelled(codes, profile.codes)} alone would take {needed:.1f} at the fastest",
                    named(check),
                    f"{said} {highest}: look again which of them is right",
                )
                yield Jump(check, before, problem)
            highest, before = check.stage, check
            said = f"{record_name(check.number)} says" if check.number else "another entry says"
        if check.fate is None or check.stage is not None:
            since = check.at


def warmest(log: CohortLog) -> Warmth:
    """How warm it was in a cohort: the warmest of the days' means, else what was planned (°C)."""
    clock = log.cohort.clock

    def known(since: datetime, until: datetime) -> float | None:
        means = (_warmest(each, since, until, clock) for each in log.temperatures)
        return max((each for each in means if each is not None), default=log.cohort.planned_celsius)

    return known


def _warmest(
    record: Temperature, since: datetime, until: datetime, clock: CohortClock
) -> float | None:
    """The warmest mean of a day, or of the readings, that a record has between two moments."""
    first, last = clock.day(since), clock.day(until)
    if isinstance(record, DayExtremes):
        return (record.min_c + record.max_c) / 2 if first <= record.date <= last else None
    if isinstance(record, ConstantTemperature):
        kept = record.first <= last and (record.last is None or record.last >= first)
        return record.celsius if kept else None
    by_day: dict[object, list[float]] = {}
    for seconds, celsius in zip(record.seconds, record.celsius, strict=True):
        at = record.at + timedelta(seconds=seconds)
        if since <= at <= until:
            by_day.setdefault(clock.day(at), []).append(celsius)
    return max((sum(each) / len(each) for each in by_day.values()), default=None)
