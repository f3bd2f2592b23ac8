"""The kinds of array that the arithmetic passes on, and their numbers as results hold them."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Booleans = npt.NDArray[np.bool_]


def finite(value: float) -> float | None:
    """A number as results hold it: None where it is NaN or infinite."""
    return float(value) if math.isfinite(value) else None


def all_finite(values: Floats) -> list[float | None]:
    """Numbers (n,) as results hold them."""
    found = values.astype(object)
    found[~np.isfinite(values)] = None
    return list(found)


def mean_of_known(values: Floats) -> float | None:
    """The mean of those of some values that are not NaN; None where none is."""
    known = values[~np.isnan(values)]
    return float(known.mean()) if known.size else None
