"""The temperature to come: what a forecast spends its heat at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.phases import Unit
from rearlog.analysis.heat.daily_temperatures import Temperatures, lay_out
from rearlog.analysis.heat.gap_filling import (
    TemperatureGaps,
    at_one_level,
    extended,
    gaps_in,
    known_since,
    up_to_the_last_known,
)
from rearlog.analysis.heat.heat_curve import (
    RECENT_DAYS,
    HeatCurve,
    HeatSettings,
    heat_curve,
    settings,
)
from rearlog.analysis.heat.weather import Weather, rise, weather
from rearlog.records.errors import UsageError
from rearlog.records.log import Cohort, CohortLog, DayExtremes

TREND_DAYS = 60
"""So long a trend goes on, flattening: then little of it is left."""

_RECENT = int(RECENT_DAYS)


class FutureTemperature(Struct, frozen=True):
    """What a user says of the temperature to come: one temperature (°C), or day by day.

    With neither, the mean of the last RECENT_DAYS goes on.
    """

    celsius: float | None = None
    daily: tuple[DayExtremes, ...] = ()


LIKE_LATELY = FutureTemperature()


class TemperatureBasis(Struct, frozen=True):
    """What is taken for the temperature to come, `celsius` on average.

    Where it is `given`: one temperature, or day by day from `first` to `last` and then as lately.
    Else it is the mean of the last `recent_days` on record; where it is likely to go on getting
    warmer or cooler, it does so less and less: by `trend` °C on the first day, else 0. With none on
    record (`recent_days` is 0) it is the one that was planned for the cohort.
    """

    celsius: float
    given: bool
    first: date | None
    last: date | None
    recent_days: int
    trend: float


class NoTemperatureSince(Struct, frozen=True):
    """The record of temperatures ends on this day, before yesterday."""

    last: date


class NoTemperatureOnRecord(Struct, frozen=True):
    """All days are taken to have been at `celsius`: as `planned` for the cohort, or as given for
    the days to come."""

    celsius: float
    planned: bool


TemperatureNotice = TemperatureGaps | NoTemperatureSince | NoTemperatureOnRecord


class TemperatureCourse(Struct, frozen=True):
    """The temperatures of a cohort up to `now` (day since its zero) and on from there.

    `curve` runs on at the temperature to come; it is None where no temperature or no lower
    threshold is known. From the day `begins` on it has a temperature on every day. `rate` is the
    degree-days a day to come and `weather` how far single days may be off it (None where the
    temperature is given, or all days were alike). `celsius` is the mean temperature to come.
    `basis` is what was taken, `notices` what is lacking or was made up for.
    """

    now: float
    curve: HeatCurve | None
    begins: float
    rate: float
    weather: Weather | None
    celsius: float | None
    basis: TemperatureBasis | None
    notices: tuple[TemperatureNotice, ...]

    @property
    def unit(self) -> Unit:
        """What development is counted in: degree-days, or days where there is no heat to count."""
        return "days" if self.curve is None else "degree-days"

    def amount(self, day: Floats) -> Floats:
        """The amount that has come together by a day (days since zero, any shape).

        That of days that have no temperature is left out: before `begins` it tells nothing.
        """
        return day if self.curve is None else self.curve.at(day)

    def day(self, amount: Floats) -> Floats:
        """The day (since zero) by which an amount has come together; NaN where it never does."""
        if self.curve is None:
            return amount
        first = self.curve.at(self.begins)
        return self.curve.when(self.begins, amount - first)

    def variance(self, amount: Floats) -> Floats:
        """How far the weather may carry the heat by then off this amount (variance, same shape)."""
        if self.weather is None or not self.rate > 0:
            return np.zeros_like(amount)
        return self.weather.variance(np.maximum(self.day(amount) - self.now, 0.0))


def temperature_course(
    log: CohortLog, as_of: datetime, coming: FutureTemperature = LIKE_LATELY
) -> TemperatureCourse:
    """The temperatures that a log knows at `as_of`, and those to come.

    Gaps are those of `lay_out`; a cohort without any temperature takes the planned one or the one
    to come. Raises UsageError where daily temperatures are given and none
    of them is for a day to come.
    """
    cohort = log.cohort
    now, today = cohort.clock.days(as_of), cohort.clock.day(as_of)
    laid_out = lay_out(log)
    known, notices = _known(laid_out, cohort, coming, today)
    if known is None:
        return TemperatureCourse(now, None, -np.inf, np.nan, None, None, None, ())
    begins = known_since(known)
    first = max(known.dates[-1] + timedelta(1), today)
    days, recorded = _days_ahead(coming, first), known
    lately = None if days else weather(_known_days((known.minimum + known.maximum) / 2))
    trend = lately.likely_trend if lately else 0.0
    ahead = _rising(known, first, trend) if trend else days
    if ahead:
        known = extended(known, (*_held(known, today), *ahead), cohort.clock)
    how = HeatSettings(0.0, None, "single-sine", "horizontal")  # for the mean temperature alone
    if cohort.species.lower is not None:
        how = settings(cohort.species, known)
    curve = heat_curve(known, how)
    on_record = _known_days(recorded.minimum) if laid_out.any_known else ()
    recent = min(len(on_record), _RECENT)
    if days:
        celsius = float(np.mean([(each.min_c + each.max_c) / 2 for each in days]))
    else:
        celsius = curve.recent_celsius(len(recorded.dates))
    counted = cohort.species.lower is not None
    return TemperatureCourse(
        now,
        curve if counted else None,
        begins if counted else -np.inf,
        curve.recent_rate(len(recorded.dates) if trend else None),
        lately,
        celsius,
        _basis(coming, days, celsius, recent, trend),
        notices,
    )


def _known(
    laid_out: Temperatures, cohort: Cohort, coming: FutureTemperature, today: date
) -> tuple[Temperatures | None, tuple[TemperatureNotice, ...]]:
    """The temperatures up to the last known day, and what they lack or was made up for them."""
    if laid_out.any_known:
        known = up_to_the_last_known(laid_out)
        gaps = gaps_in(cohort.name, known, before=today)
        notices: list[TemperatureNotice] = [gaps] if gaps else []
        if (today - known.dates[-1]).days > 1:
            notices.append(NoTemperatureSince(known.dates[-1]))
        return known, tuple(notices)
    planned = cohort.planned_celsius is not None
    celsius = cohort.planned_celsius if planned else coming.celsius
    if celsius is None:
        return None, ()
    return at_one_level(laid_out, celsius), (NoTemperatureOnRecord(celsius, planned),)


def _held(known: Temperatures, today: date) -> Iterator[DayExtremes]:
    """The days from the end of the record to yesterday, like its last one."""
    day = known.dates[-1] + timedelta(1)
    while day < today:
        yield DayExtremes(day, float(known.minimum[-1]), float(known.maximum[-1]))
        day += timedelta(1)


def _rising(known: Temperatures, first: date, trend: float) -> tuple[DayExtremes, ...]:
    """The days to come from `first` on, where a trend (°C a day) goes on from the last ones."""
    low, high = (_known_days(each)[-_RECENT:].mean() for each in (known.minimum, known.maximum))
    added = trend * rise(np.arange(1.0, TREND_DAYS + 1))
    return tuple(
        DayExtremes(first + timedelta(step), low + more, high + more)
        for step, more in enumerate(added.tolist())
    )


def _known_days(celsius: Floats) -> Floats:
    """The temperatures of the days that are known, as if they followed each other."""
    return celsius[~np.isnan(celsius)]


def _days_ahead(coming: FutureTemperature, first: date) -> tuple[DayExtremes, ...]:
    """The days to come from `first` on, as they are given."""
    if coming.celsius is not None:
        level = coming.celsius
        return tuple(DayExtremes(first + timedelta(step), level, level) for step in range(_RECENT))
    days = sorted((each for each in coming.daily if each.date >= first), key=lambda day: day.date)
    if coming.daily and not days:
        last = max(each.date for each in coming.daily)
        raise UsageError(f"the given temperatures end on {last}", f"give days from {first} on")
    return tuple(days)


def _basis(
    coming: FutureTemperature,
    days: Sequence[DayExtremes],
    celsius: float,
    recent: int,
    trend: float,
) -> TemperatureBasis:
    if coming.celsius is not None or not days:
        return TemperatureBasis(celsius, coming.celsius is not None, None, None, recent, trend)
    return TemperatureBasis(celsius, True, days[0].date, days[-1].date, _RECENT, 0.0)
