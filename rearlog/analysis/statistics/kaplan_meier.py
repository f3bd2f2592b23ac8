"""Survival of right-censored individuals."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from rearlog.analysis.arrays import Floats, all_finite
from rearlog.analysis.statistics.distinct import distinct
from rearlog.analysis.statistics.levels import Z_95
from rearlog.analysis.statistics.life_table import wilson

ROUNDING = 1e-12
"""So much of a survival is allowed for rounding where a quantile is read from it."""


class KaplanMeierRow(Struct, frozen=True):
    """One day on which something ended, and the survival just after it.

    `at_risk` are those followed up to that day, its deaths and censored included. `se` is
    Greenwood's standard error, None once nobody survives; `low` and `high` are the log–log 95 %
    limits, and Wilson's where these do not exist: before the first death for all that are still
    followed, once nobody survives for all that died.
    """

    day: float
    at_risk: int
    deaths: int
    censored: int
    survival: float
    se: float | None
    low: float
    high: float


class KaplanMeier(Struct, frozen=True):
    """The Kaplan–Meier estimate; days as in the durations that it was made from.

    `rows` begin on day 0, with a survival of 1 unless some died on that day. `median_days` is the
    first day by which at least half have died, `median_low` and `median_high` its 95 % limits;
    each is None where it is not reached.
    """

    n: int
    deaths: int
    censored: int
    median_days: float | None
    median_low: float | None
    median_high: float | None
    rows: tuple[KaplanMeierRow, ...]

    def quantile(self, p: float) -> float | None:
        """The first day by which the part `p` have died, or None where it is not reached."""
        enough = (row.day for row in self.rows if row.survival <= 1 - p + ROUNDING)
        return next(enough, None)


def kaplan_meier(durations: ArrayLike, died: ArrayLike) -> KaplanMeier:
    """Survival by day from times to death, some of them censored.

    Takes `durations`, shape (n,), days ≥ 0 to the end of each individual's record, and `died`,
    shape (n,), true where it ended in death. Those censored on a day count as at risk on it.
    Raises ValueError where these do not fit together or there are none.

    Method: Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457–481, with Greenwood's variance and
    limits on the scale of log(−log S) (Kalbfleisch & Prentice 1980, The Statistical Analysis of
    Failure Time Data). Where everybody or nobody survives, that variance is 0 and says nothing of
    others: there the limits are those of Wilson 1927, J. Am. Stat. Assoc. 22:209–212. The median's
    limits are the first days on which the limits of survival are at most one half (Brookmeyer &
    Crowley 1982, Biometrics 38:29–41).
    """
    days, dead = _checked(durations, died)
    times = distinct(np.append(0.0, days))
    at_risk = days.size - np.searchsorted(np.sort(days), times)
    deaths = _count(days[dead], times)
    survival = np.cumprod((at_risk - deaths) / at_risk)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.sqrt(np.cumsum(deaths / (at_risk * (at_risk - deaths))))
        se = survival * spread
        widening = np.exp(-Z_95 * spread / np.log(survival))
        low, high = survival**widening, survival ** (1 / widening)
    certain = (survival == 0) | (survival == 1)
    low[certain] = high[certain] = np.nan
    columns = (
        *(each.tolist() for each in (times, at_risk, deaths, _count(days[~dead], times), survival)),
        all_finite(np.asarray(se, dtype=np.float64)),
        *_with_ends(survival, low, high, at_risk, int(dead.sum())),
    )
    rows = tuple(KaplanMeierRow(*row) for row in zip(*columns, strict=True))
    return KaplanMeier(
        n=days.size,
        deaths=int(dead.sum()),
        censored=int((~dead).sum()),
        median_days=_first_at_half(times, survival),
        median_low=_first_at_half(times, low),
        median_high=_first_at_half(times, high),
        rows=rows,
    )


def _checked(durations: ArrayLike, died: ArrayLike) -> tuple[Floats, NDArray[np.bool_]]:
    days, dead = np.asarray(durations, dtype=np.float64), np.asarray(died, dtype=bool)
    if days.ndim != 1 or days.shape != dead.shape or not days.size:
        raise ValueError("durations and died must be lists of one length, and not empty")
    if not (np.isfinite(days) & (days >= 0)).all():
        raise ValueError("durations must be known and not negative")
    return days, dead


def _count(days: Floats, times: Floats) -> NDArray[np.int64]:
    """How many ended at each of the ascending times, which include all of theirs."""
    return np.bincount(np.searchsorted(times, days), minlength=times.size)


def _with_ends(
    survival: NDArray[np.floating],
    low: NDArray[np.floating],
    high: NDArray[np.floating],
    at_risk: NDArray[np.int64],
    deaths: int,
) -> tuple[list[float], list[float]]:
    """The limits (k,), with Wilson's where all of those `at_risk`, or none of those that died,
    survive."""
    below, above = low.tolist(), high.tolist()
    for place in np.flatnonzero((survival == 0) | (survival == 1)).tolist():
        n = int(at_risk[place]) if survival[place] else deaths
        limits = wilson(n if survival[place] else 0, n)
        below[place], above[place] = limits or (0.0, 1.0)
    return below, above


def _first_at_half(times: Floats, survival: NDArray[np.floating]) -> float | None:
    """The first time at which the curve is at most one half, a rounding error allowed."""
    reached = np.flatnonzero(survival <= 0.5 + ROUNDING)
    return float(times[reached[0]]) if reached.size else None
