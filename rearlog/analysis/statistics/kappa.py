"""How far two who judge the same things agree, beyond what chance alone would bring."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.statistics.levels import Z_95


class Kappa(Struct, frozen=True):
    """Cohen's kappa: 1 for full agreement, 0 for that of chance, below 0 for less.

    `se` is its standard error, `low` and `high` the 95 % limits (normal, none beyond -1 and 1).
    """

    kappa: float
    se: float
    low: float
    high: float


def linear(size: int) -> npt.NDArray[np.float64]:
    """Weights for ordered classes: two apart is twice as bad as one apart."""
    away = np.abs(np.subtract.outer(np.arange(size), np.arange(size)))
    return 1 - away / max(1, size - 1)


def quadratic(size: int) -> npt.NDArray[np.float64]:
    """Weights for ordered classes: two apart is four times as bad as one apart."""
    return 1 - (1 - linear(size)) ** 2


def kappa(counts: npt.ArrayLike, weights: npt.ArrayLike) -> Kappa | None:
    """Kappa of a table of counts (k, k), rows one judge and columns the other.

    `weights` (k, k): how far each pair of judgments agrees, 1 on the diagonal; the identity for
    plain kappa. None where the table
    is empty, or both judges know one class only, so that chance would make them agree as well.
    Raises ValueError where counts and weights do not fit together.

    Source: Cohen 1960, Educ. Psychol. Meas. 20:37–46; weighted: Cohen 1968, Psychol. Bull.
    70:213–220; standard error: Fleiss, Cohen & Everitt 1969, Psychol. Bull. 72:323–327 (that of
    their eq. for kappa other than 0).
    """
    table, agree = np.asarray(counts, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] != table.shape[1] or table.shape != agree.shape:
        raise ValueError("counts and weights must be square tables of one size")
    n = float(table.sum())
    if n == 0:
        return None
    part = table / n
    rows, columns = part.sum(axis=1), part.sum(axis=0)
    observed = float((agree * part).sum())
    expected = float(rows @ agree @ columns)
    if expected > 1 - 1e-12:
        return None
    value = (observed - expected) / (1 - expected)
    # what each cell adds, beyond the mean weights of its row and of its column
    margin = (agree @ columns)[:, None] + (rows @ agree)[None, :]
    square = float((part * (agree - margin * (1 - value)) ** 2).sum())
    variance = (square - (value - expected * (1 - value)) ** 2) / (n * (1 - expected) ** 2)
    se = max(0.0, variance) ** 0.5
    reach = Z_95 * se
    return Kappa(value, se, max(-1.0, value - reach), min(1.0, value + reach))
