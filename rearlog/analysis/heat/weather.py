"""How far the temperatures of days to come may be off the mean of the last ones.

The model, an assumption: a first-order autoregression. Days are correlated by DAYS_ALIKE with the
next one, by its square with the next but one, and so on; all that follows is exact for it: derived
from its autocovariances (Box and Jenkins 1970, Time Series Analysis, chapter 3).
"""

from __future__ import annotations

import numpy as np

from rearlog.analysis.arrays import Floats
from rearlog.analysis.heat.heat_curve import RECENT_DAYS

DAYS_ALIKE = 0.6
"""Correlation of the temperature of one day with that of the next: an assumption."""


def sum_off_mean(days: Floats) -> Floats:
    """Variance of a sum of `days` to come about that many times the mean of the last RECENT_DAYS.

    In units of the variance of one day (same shape as `days`).
    """
    recent = np.array(RECENT_DAYS)
    share = days / recent
    shared = DAYS_ALIKE * _fading(recent) * _fading(days)
    return np.asarray(_sum_variance(days) + share**2 * _sum_variance(recent) - 2 * share * shared)


def daily_sd(days: Floats) -> float:
    """The SD of single days from n of them (n,), 0 where n < 3.

    Days that resemble each other differ less than days do in the long run: made up for.
    """
    n = len(days)
    if n < 3:
        return 0.0
    squares = float(((days - days.mean()) ** 2).sum())
    return float(np.sqrt(squares / (n - float(_sum_variance(np.array(n))) / n)))


def _sum_variance(days: Floats) -> Floats:
    """The variance of the sum of so many days, in units of that of one (same shape)."""
    alike = DAYS_ALIKE
    return (days * (1 + alike) - 2 * alike * _fading(days)) / (1 - alike)


def _fading(days: Floats) -> Floats:
    return np.asarray((1 - DAYS_ALIKE**days) / (1 - DAYS_ALIKE))
