"""The life table by age, and the measures of mortality in a stage."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from rearlog.analysis.statistics.levels import Z_95


class LifeTableRow(Struct, frozen=True):
    """One age x (days) and the interval from x to x + 1.

    `n` alive at x, after that day's check; `l` the share that survives to x; `d` deaths in the
    interval; `q` the chance of dying in it; `L` days lived in it by each individual at the start;
    `T` the sum of L from x on; `e` = T/l, the days still to live.
    """

    x: int
    n: int
    l: float  # noqa: E741 - the column's standard name
    d: int
    q: float | None
    L: float | None
    T: float | None
    e: float | None


STILL_THAT_DAY = 0.25
"""Days after age x up to which a look counts as that of day x: rounds are not made to the minute,
and where somebody looks twice a day, half a day must not be near the bound."""


def day_of_age(ages: ArrayLike) -> NDArray[np.float64]:
    """The whole day that an age (n,) belongs to in a life table, in days: x from x − 0.75 on,
    without that itself, to x + 0.25. Who was found at the same look is thus kept together."""
    early = np.asarray(ages, dtype=np.float64) - STILL_THAT_DAY
    return np.maximum(0.0, np.ceil(early))


def life_table(ages_at_end: ArrayLike, died: ArrayLike) -> tuple[LifeTableRow, ...]:
    """The cohort life table by days of age, from age 0 to the last age with individuals alive.

    Takes `ages_at_end`, shape (n,), whole days from each individual's start to the check at which
    it was found dead or last known alive, and `died`, shape (n,), true for the dead. A death found
    on day x fell in the interval x − 1 to x (on day 0: in the first). Those last known alive on
    day x are counted at x and withdrawn in the interval x to x + 1.
    Raises ValueError where the lists do not fit together, are empty, or an age is negative or not
    whole.

    With deaths d and withdrawals w in an interval, q = d / (n − w/2), the actuarial way; l is the
    product of 1 − q, which is n_x/n_0 where none withdrew; L_x = (l_x + l_{x+1})/2. T and e count
    days within the table only, which is less than a life where its end found some alive. Where all
    of the last row withdrew, nothing is known of the interval that follows: its q, L, T and e are
    None.
    Source: Cutler & Ederer 1958, J. Chron. Dis. 8:699–712; columns as in Carey 1993, Applied
    Demography for Biologists.
    """
    ages, dead = np.asarray(ages_at_end, dtype=np.float64), np.asarray(died, dtype=bool)
    if ages.ndim != 1 or ages.shape != dead.shape or not ages.size:
        raise ValueError("ages_at_end and died must be lists of one length, and not empty")
    if not (np.isfinite(ages) & (ages >= 0) & (ages == np.floor(ages))).all():
        raise ValueError("ages must be whole days and not negative")
    interval = np.where(dead, np.maximum(ages - 1, 0), ages).astype(np.intp)
    size = int(interval.max()) + 1
    d = np.bincount(interval[dead], minlength=size)
    w = np.bincount(interval[~dead], minlength=size)
    n = ages.size - np.append(0, np.cumsum(d + w)[:-1])
    known = size if w[-1] < n[-1] else size - 1
    q = d[:known] / (n - w / 2)[:known]
    survivorship = np.cumprod(np.append(1.0, 1 - q))
    lived = (survivorship[:-1] + survivorship[1:]) / 2
    to_live = np.cumsum(lived[::-1])[::-1]
    columns = (n, survivorship, d, q, lived, to_live, to_live / survivorship[:known])
    rows = map(LifeTableRow, range(known), *(column[:known].tolist() for column in columns))
    if known == size:
        return tuple(rows)
    return *rows, LifeTableRow(
        known, int(n[known]), float(survivorship[known]), d=0, q=None, L=None, T=None, e=None
    )


def wilson(successes: float, n: float) -> tuple[float, float] | None:
    """95 % limits (low, high) of a proportion of n, which need not be whole; None where n is 0.

    Raises ValueError unless 0 ≤ successes ≤ n.
    Method: score interval, Wilson 1927, J. Am. Stat. Assoc. 22:209–212.
    """
    if not 0 <= successes <= n:
        raise ValueError(f"no limits for {successes} of {n}")
    if n == 0:
        return None

    def lower(k: float) -> float:
        half_width = Z_95 * math.sqrt(k * (n - k) / n + Z_95**2 / 4)
        return (k + Z_95**2 / 2 - half_width) / (n + Z_95**2)

    return lower(successes), 1 - lower(n - successes)


def k_value(q: float) -> float | None:
    """The killing power k = −log10(1 − q) of a mortality q; None where q is 1: k is infinite.

    The k of successive stages add up to the K of them all. Raises ValueError outside 0 to 1.
    Source: Varley & Gradwell 1960, J. Anim. Ecol. 29:399–401.
    """
    if not 0 <= q <= 1:
        raise ValueError(f"a mortality lies between 0 and 1, not at {q}")
    return None if q == 1 else math.log10(1 / (1 - q))
