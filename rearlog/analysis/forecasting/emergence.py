"""How many will have come to the last stage by each day, and how many have: for charts."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.forecast_model import ForecastModel
from rearlog.analysis.statistics.truncated_normal import moved_beyond

DRAWS, SEED = 400, 1
LONGEST_DAYS = 366
"""A chart of more days is cut off."""


class EmergenceDay(Struct, frozen=True):
    """Until the end of a day: `came` individuals (None for days to come) are in the last stage.

    `expected` counts those too; the part of outcomes that was asked for lies between `low` and
    `high`, if all live. These are None for days that are over.
    """

    date: date
    expected: float | None
    low: int | None
    high: int | None
    came: int | None


def emergence(model: ForecastModel) -> tuple[EmergenceDay, ...]:
    """Count the last event day by day, from the first to come until all should have come.

    By simulation (Monte Carlo): DRAWS outcomes of the whole cohort, of which the mean and the
    quantiles of a window are taken day by day.
    """
    into = model.history.into_high[:, -1]
    into = np.sort(into[~np.isnan(into)])
    drawn = model.days(_draws(model))
    known = drawn[~np.isnan(drawn)]
    today = model.date_of(model.course.now)
    shown = [model.date_of(day) for day in into]
    if len(known):
        soonest, latest = (model.date_of(float(day)) for day in np.quantile(known, (0.005, 0.995)))
        shown += [max(today, soonest - timedelta(1)), max(today, latest)]
    if not shown:
        return ()
    start = min(shown)
    count = min((max(shown) - start).days + 1, LONGEST_DAYS)
    ends = np.array(model.log.cohort.clock.midnights(start, count)[1:])
    came = np.searchsorted(into, ends, side="right")
    tails, rows = model.moments[[0, 2]], list[EmergenceDay]()
    for step, end in enumerate(ends):
        day = start + timedelta(step)
        so_far = int(came[step]) if day <= today else None
        if day < today or len(known) == 0:
            rows.append(EmergenceDay(day, None, None, None, so_far))
            continue
        counts = len(into) + (drawn <= end).sum(axis=1)
        low, high = np.quantile(counts, tails, method="inverted_cdf")
        rows.append(EmergenceDay(day, float(counts.mean()), int(low), int(high), so_far))
    return tuple(rows)


def _draws(model: ForecastModel) -> Floats:
    """Amounts at which everyone comes into the last stage, drawn together: (DRAWS, k).

    What all share (the cohort's factors, the weather) is drawn once for all.
    """
    predictive = model.predictive
    who = ~np.isnan(predictive.mean[:, -1])
    mean, sd, cut, common = (
        each[who, -1]
        for each in (predictive.mean, predictive.sd, predictive.cut, predictive.common_sd)
    )
    share = np.minimum(common / sd, 1.0)  # who is very late has little spread left
    rng = np.random.default_rng(SEED)
    shared, own = rng.standard_normal((DRAWS, 1)), rng.standard_normal((DRAWS, len(mean)))
    z = share * shared + np.sqrt(1 - share**2) * own
    return np.asarray(mean + sd * moved_beyond(cut, z))
