"""How many will have come to the last stage by each day, and how many have: for charts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from rearlog.analysis.events import SECONDS_PER_DAY, Floats
from rearlog.analysis.normal_tail import moved_beyond
from rearlog.analysis.prospect import Prospect
from rearlog.records.times import midnights

DRAWS, SEED = 400, 1
LONGEST_DAYS = 366
"""A chart of more days is cut off."""


@dataclass(frozen=True, slots=True)
class EmergenceDay:
    """Until the end of a day: `came` individuals (None for days to come) are in the last stage.

    `expected` counts those too; 90 % of outcomes lie between `low` and `high`, if all live. These
    are None for days that are over.
    """

    date: date
    expected: float | None
    low: int | None
    high: int | None
    came: int | None


def emergence(prospect: Prospect) -> tuple[EmergenceDay, ...]:
    """Count the last event day by day, from the first to come until all should have come."""
    into = prospect.development.into_high[:, -1]
    into = np.sort(into[~np.isnan(into)])
    drawn = prospect.days(_draws(prospect))
    known = drawn[~np.isnan(drawn)]
    today = prospect.date_of(prospect.ahead.now)
    first, last = (
        [prospect.date_of(day) for day in into[:1]],
        [prospect.date_of(day) for day in into[-1:]],
    )
    if len(known):
        soonest, latest = (
            prospect.date_of(float(day)) for day in np.quantile(known, (0.005, 0.995))
        )
        first.append(max(today, soonest - timedelta(1)))
        last.append(max(today, latest))
    if not first:
        return ()
    start = min(first)
    count = min((max(last) - start).days + 1, LONGEST_DAYS)
    cohort = prospect.log.cohort
    edges = np.array([each.timestamp() for each in midnights(start, count, cohort.zone)[1:]])
    ends = (edges - cohort.started.timestamp()) / SECONDS_PER_DAY
    came = np.searchsorted(into, ends, side="right")
    rows = []
    for step, end in enumerate(ends):
        day = start + timedelta(step)
        so_far = int(came[step]) if day <= today else None
        if day < today or len(known) == 0:
            rows.append(EmergenceDay(day, None, None, None, so_far))
            continue
        counts = len(into) + (drawn <= end).sum(axis=1)
        low, high = np.quantile(counts, (0.05, 0.95), method="inverted_cdf")
        rows.append(EmergenceDay(day, float(counts.mean()), int(low), int(high), so_far))
    return tuple(rows)


def _draws(prospect: Prospect) -> Floats:
    """Amounts at which everyone comes into the last stage, drawn together: (DRAWS, k).

    What all share (the cohort's factors, the weather) is drawn once for all.
    """
    outlook = prospect.outlook
    who = ~np.isnan(outlook.mean[:, -1])
    mean, sd, cut, common = (
        each[who, -1] for each in (outlook.mean, outlook.sd, outlook.cut, outlook.common_sd)
    )
    share = np.minimum(common / sd, 1.0)  # who is very late has little spread left
    rng = np.random.default_rng(SEED)
    shared, own = rng.standard_normal((DRAWS, 1)), rng.standard_normal((DRAWS, len(mean)))
    z = share * shared + np.sqrt(1 - share**2) * own
    return np.asarray(mean + sd * moved_beyond(cut, z))
