"""How a cohort stands, at a glance: who was looked at, and the days without a temperature.

For what can be said before anything is computed; nothing here needs numpy.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from msgspec import Struct

from rearlog.records.columns import columns_of
from rearlog.records.fields import OF_ADULTS
from rearlog.records.log import CohortLog, ConstantTemperature, DayExtremes, Readings
from rearlog.records.logger_days import days_covered


class Standing(Struct, frozen=True):
    """A cohort on a day. `developing` are the living that are not in the last stage.

    `to_see` are they and, where they are watched (see `adults_are_watched`), the living adults:
    `unseen` of these were not looked at on that day, the last of them on the day `last_seen`.
    `without_temperature` are the days before whose temperature is not on record: readings that do
    not cover a day (see `days_covered`) do not tell it.
    """

    cohort: str
    individuals: int
    alive: int
    developing: int
    to_see: int
    unseen: int
    last_seen: date | None
    without_temperature: tuple[date, ...]


def adults_are_watched(log: CohortLog) -> bool:
    """Whether adults are to be looked at like those that develop.

    They are once a look told eggs, hatched eggs, or a mate or cage. Without, the watch ends with
    adulthood, as it mostly does: whoever goes on looking may, and nobody is told that adults were
    not looked at.
    """
    columns = columns_of(log)
    return any(value is not None for each in OF_ADULTS for value in columns[each.name].distinct)


def standing(log: CohortLog, now: datetime) -> Standing:
    """How the cohort of a log stands at a moment."""
    cohort, clock = log.cohort, log.cohort.clock
    latest = {
        each.code: (each.entered_at.timestamp(), each.stage, None)
        for each in log.individuals
        if each.entered_at <= now
    }
    columns = columns_of(log)
    rows = zip(*(columns[name] for name in ("individual", "stage", "fate")), strict=True)
    until = now.timestamp()
    for (code, stage, fate), at in zip(rows, columns.seconds, strict=True):
        known = latest.get(code)
        if known is not None and known[0] <= at <= until:
            latest[code] = at, stage or known[1], fate
    living = [each for each in latest.values() if each[2] is None]
    last_stage, today = cohort.species.codes[-1], clock.day(now)
    midnight = now.timestamp() - _seconds_into(now)
    developing = [seen for seen, stage, _ in living if stage != last_stage]
    watched = len(developing) < len(living) and adults_are_watched(log)
    to_see = [seen for seen, _, _ in living] if watched else developing
    unseen = [seen for seen in to_see if seen < midnight]
    return Standing(
        cohort.name,
        len(latest),
        len(living),
        len(developing),
        len(to_see),
        len(unseen),
        clock.day(datetime.fromtimestamp(max(unseen), now.tzinfo)) if unseen else None,
        tuple(_without_temperature(log, today)) if developing else (),
    )


def _seconds_into(now: datetime) -> float:
    return timedelta(hours=now.hour, minutes=now.minute, seconds=now.second).total_seconds()


def _without_temperature(log: CohortLog, today: date) -> list[date]:
    """The days to yesterday that are not recorded, from that on which the first egg was laid."""
    first = log.began
    every = _days(first, today - timedelta(1))
    readings = [each for each in log.temperatures if isinstance(each, Readings)]
    known = set(days_covered(readings, every, log.cohort.zone))
    for each in log.temperatures:
        if isinstance(each, DayExtremes):
            known.add(each.date)
        elif isinstance(each, ConstantTemperature):
            begin = max(each.first, first)
            known.update(_days(begin, min(each.last or today, today)))
    return [day for day in every if day not in known]


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(step) for step in range((last - first).days + 1)]
