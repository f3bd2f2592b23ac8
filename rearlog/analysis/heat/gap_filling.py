"""Gaps in the record of temperatures, and days that go on from it.

`lay_out` alone fills gaps, for every answer alike: straight lines between the days that are known,
common practice and an assumption.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.heat.daily_temperatures import FILLED, MISSING, RECORDED, Temperatures
from rearlog.records.clock import CohortClock
from rearlog.records.log import DayExtremes


class TemperatureGaps(Struct, frozen=True):
    """The days of a cohort that have no temperature on record, in order.

    Those `filled` take it from the days beside them; that of the `unknown` ones, which are more
    than LONGEST_FILL_DAYS in a row, is not known. `sparse` of both have readings with gaps of more
    than LONGEST_READING_GAP_DAYS.
    """

    cohort: str
    filled: tuple[date, ...]
    unknown: tuple[date, ...]
    sparse: int = 0


def gaps_in(
    cohort: str, laid_out: Temperatures, before: date | None = None
) -> TemperatureGaps | None:
    """The gaps in the temperatures of a cohort (`before` a day); None where there are none."""
    kinds = list(zip(laid_out.dates, laid_out.status.tolist(), strict=True))
    filled, unknown = (
        tuple(day for day, its in kinds if its == kind and (before is None or day < before))
        for kind in (FILLED, MISSING)
    )
    if not filled and not unknown:
        return None
    read = zip(laid_out.dates, laid_out.sparse.tolist(), strict=True)
    sparse = sum(its and (before is None or day < before) for day, its in read)
    return TemperatureGaps(cohort, filled, unknown, sparse)


def up_to_the_last_known(laid_out: Temperatures) -> Temperatures:
    """The days up to the last of which the temperature is known; some day must be."""
    days = int(np.flatnonzero(laid_out.status != MISSING)[-1]) + 1
    by_day: dict[str, Any] = {
        name: getattr(laid_out, name)[:days]
        for name in ("dates", "minimum", "maximum", "status", "logged", "sparse")
    }
    return replace(laid_out, edges=laid_out.edges[: days + 1], **by_day)


def known_since(laid_out: Temperatures) -> float:
    """The day (since zero) from which on no temperature is missing; the last day must be known."""
    missing = np.flatnonzero(laid_out.status == MISSING)
    return float(laid_out.edges[missing[-1] + 1 if len(missing) else 0])


def at_one_level(laid_out: Temperatures, celsius: float) -> Temperatures:
    """The same days at one temperature (°C)."""
    level = np.full(len(laid_out.dates), celsius)
    status = np.full(len(laid_out.dates), RECORDED)
    return replace(laid_out, minimum=level, maximum=level, status=status)


def extended(known: Temperatures, days: Sequence[DayExtremes], clock: CohortClock) -> Temperatures:
    """The days that are known, those given after them, and in a straight line what is between."""
    count = (days[-1].date - known.dates[0]).days + 1
    dates = tuple(known.dates[0] + timedelta(step) for step in range(count))
    end = len(known.dates)
    places = [end - 1, *((each.date - known.dates[0]).days for each in days)]
    later = np.arange(end, count)
    lows, highs = ([getattr(each, name) for each in days] for name in ("min_c", "max_c"))
    status = np.full(count, FILLED)
    status[:end], status[places[1:]] = known.status, RECORDED
    return replace(
        known,
        dates=dates,
        edges=np.array(clock.midnights(dates[0], count)),
        minimum=_carried_on(known.minimum, later, places, lows),
        maximum=_carried_on(known.maximum, later, places, highs),
        status=status,
        logged=np.concatenate((known.logged, np.zeros(count - end, dtype=bool))),
        sparse=np.concatenate((known.sparse, np.zeros(count - end, dtype=bool))),
    )


def _carried_on(
    known: Floats, later: Integers, places: Sequence[int], given: Sequence[float]
) -> Floats:
    """The values known, and those of `later` places in lines through the last and those given."""
    return np.concatenate((known, np.interp(later, places, [known[-1], *given])))
