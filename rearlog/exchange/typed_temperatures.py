"""Temperatures that somebody types, by whichever door."""

from __future__ import annotations

from datetime import datetime

from rearlog.exchange.celsius import NotATemperature, Unit, celsius, parted
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import Cohort, ConstantTemperature, DayExtremes


def celsius_of(text: str, unit: Unit | None) -> float:
    """A temperature as typed, in °C; raises UsageError for what is none.

    `unit` is that of a number without one behind it; °C where nobody says.
    """
    number, own = parted(text)
    try:
        return celsius(number, own or unit or "C", typed=True)
    except NotATemperature as error:
        raise UsageError(error.message, error.remedy) from None


def day_extremes(now: datetime, low: float, high: float, on: str | None) -> DayExtremes:
    """The lowest and the highest of a day (None: today), in °C; raises UsageError."""
    day = times.read_date(on or "today", now.date())
    if day > now.date():
        raise UsageError(f"{day} is in the future")
    if low > high:
        raise UsageError(f"the lowest, {low:g} °C, is above the highest, {high:g} °C")
    return DayExtremes(day, low, high)


def constant_temperature(
    cohort: Cohort, now: datetime, value: float, first: str | None, last: str | None
) -> ConstantTemperature:
    """A temperature kept constant, in °C, from a day (None: the start) to another (None: until
    further notice); raises UsageError."""
    today = now.date()
    begin = times.read_date(first, today) if first else cohort.started.date()
    end = times.read_date(last, today) if last else None
    if end is not None and end < begin:
        raise UsageError(f"{end} comes before {begin}")
    return ConstantTemperature(value, begin, end)
