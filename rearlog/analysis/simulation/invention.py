"""A whole invented cohort from a few wishes: how many eggs, how warm, from when on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from rearlog.analysis.simulation.lives import Chances
from rearlog.analysis.simulation.simulate import (
    DAILY,
    UNHARMED,
    UNMEASURED,
    Schedule,
    Simulation,
    simulate,
)
from rearlog.analysis.simulation.sizes import Measuring
from rearlog.records.identity import named_id
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual, Temperature
from rearlog.records.times import at_clock


@dataclass(frozen=True, slots=True)
class Wishes:
    """What an invented cohort should be like.

    `eggs` of them, laid in the last `laid_within_hours` before the start, kept at a constant
    temperature (°C) or at recorded ones. The same `seed` gives the same animals.
    """

    eggs: int
    warmth: float | tuple[Temperature, ...]
    laid_within_hours: float = 24.0
    seed: int = 1
    chances: Chances = UNHARMED
    schedule: Schedule = DAILY
    measuring: Measuring = UNMEASURED


def invent(cohort: Cohort, wishes: Wishes, first: date) -> Simulation:
    """Invent the whole log of a cohort that starts at its check time on the day `first`.

    `cohort` gives its name, species, zone and check time; its identity is drawn from these and
    from what is wished, so that it is the same each time. A constant temperature is kept from the
    laying of the eggs to the last check. Raises UsageError with what cannot be simulated.
    """
    started = at_clock(first, cohort.check_time, cohort.zone)
    laid = started - timedelta(hours=wishes.laid_within_hours), started
    warmth = wishes.warmth
    if not isinstance(warmth, tuple):
        warmth = (ConstantTemperature(warmth, laid[0].date()),)
    stage = cohort.species.codes[0]
    eggs = (Individual(str(code), started, stage, *laid) for code in range(1, wishes.eggs + 1))
    header = replace(cohort, started=started, id=_drawn_id(cohort, started, wishes))
    start = CohortLog(header, tuple(eggs), all_temperatures=warmth)
    result = simulate(
        start,
        wishes.seed,
        chances=wishes.chances,
        schedule=wishes.schedule,
        measuring=wishes.measuring,
    )
    last = result.last_check.date()
    ended = (
        replace(each, last=last) if isinstance(each, ConstantTemperature) else each
        for each in warmth
    )
    return replace(result, log=replace(result.log, all_temperatures=tuple(ended)))


def _drawn_id(cohort: Cohort, started: datetime, wishes: Wishes) -> str:
    """The identity of a cohort of these wishes, the same each time."""
    forgotten = sorted(wishes.schedule.forgotten)  # a set has no order of its own
    ordered = replace(wishes, schedule=replace(wishes.schedule, forgotten=frozenset()))
    species = cohort.species.scientific_name
    return named_id(cohort.name, species, cohort.zone, started.isoformat(), ordered, forgotten)


def invent_ended(cohort: Cohort, wishes: Wishes, today: date) -> Simulation:
    """Invent a cohort at a constant temperature whose last check is not long before `today`.

    Raises UsageError as `invent`.
    """
    lasts = invent(cohort, wishes, today).last_check.date() - today
    spare = timedelta(7 if wishes.schedule.no_weekends else wishes.schedule.every)
    return invent(cohort, wishes, today - lasts - spare)
