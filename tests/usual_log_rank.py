"""The usual log-rank test of two groups, which dates deaths when they were found."""

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

SHOWN = float(chi2.isf(0.05, 1))
"""χ² from which on it says at the 5 % level that two groups differ."""


def usual_log_rank(days: list[NDArray[np.float64]], died: list[NDArray[np.bool_]]) -> float:
    """χ² by the definition of the test, hypergeometric variance."""
    deaths = np.unique(np.concatenate(days)[np.concatenate(died)])
    at_risk = np.array([(each[:, None] >= deaths).sum(axis=0) for each in days])
    dead = np.array(
        [(a[b][:, None] == deaths).sum(axis=0) for a, b in zip(days, died, strict=True)]
    )
    n, d = at_risk.sum(axis=0), dead.sum(axis=0)
    share = at_risk[0] / n
    variance = d * share * (1 - share) * (n - d) / np.maximum(n - 1, 1)
    return float((dead[0] - d * share).sum() ** 2 / variance.sum())
