"""A whole invented cohort from a few wishes: how many eggs, how warm, from when on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

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
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.identity import named_id
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual, Temperature
from rearlog.records.times import at_clock


class Wishes(Struct, frozen=True):
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


CLASSES_AT_A_SITE = 5
"""So many classes of an invented season are of one school."""
CALLED_ROOM = 10
"""One class in so many is called “room”, as one in another school is too."""
APART_C = 1.5
"""The SD (°C) by which rooms of an invented season differ in their temperature."""


def invent_season(
    cohort: Cohort, wishes: Wishes, count: int, first: date | None, today: date
) -> Iterator[Simulation]:
    """Invent so many classes, each at a temperature of its own about the one that is wished.

    They start on the day `first`, or so that they have just ended by `today`. Raises UsageError
    where no constant temperature is wished, and as `invent`.
    """
    if isinstance(wishes.warmth, tuple):
        raise UsageError(
            "classes differ in their temperature",
            "say about which" + CommandText(", with --temp C", ""),
        )
    for number in range(count):
        rng = np.random.default_rng([wishes.seed, number])
        celsius = round(wishes.warmth + APART_C * float(rng.standard_normal()), 1)
        name = f"class-{number + 1:0{len(str(count))}}" if number % CALLED_ROOM else "room"
        site = f"School {number // CLASSES_AT_A_SITE + 1}"
        header = replace(cohort, name=name, site=site, planned_celsius=celsius)
        own = replace(wishes, warmth=celsius, seed=wishes.seed + number)
        yield invent_ended(header, own, today) if first is None else invent(header, own, first)
