"""Distinct values in order. np.unique would load numpy's masked arrays, which takes a while."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

Number = TypeVar("Number", np.float64, np.int64)


def distinct(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """Each of some values (n,) once, in ascending order; there may be no NaN among them."""
    ordered = np.sort(values)
    return np.concatenate((ordered[:1], ordered[1:][ordered[1:] > ordered[:-1]]))


def middle(values: npt.NDArray[Number]) -> float:
    """The median of some values (n,), at least one and none of them NaN."""
    last = len(values) - 1
    return float(np.sort(values)[[last // 2, (last + 1) // 2]].mean())
