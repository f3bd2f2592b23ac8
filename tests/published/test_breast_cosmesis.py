"""Time to cosmetic deterioration after radiotherapy, in months, n = 46.

Finkelstein & Wolfe 1985, Biometrics 41:933–945; estimate tabulated in Klein & Moeschberger,
Survival Analysis, chapter 5. Data and estimate were written down from memory of these.
"""

import math

import numpy as np
import pytest
from lifelines.fitters.npmle import npmle

from rearlog.analysis.statistics.turnbull import turnbull

OBSERVED = """
45- 6,10 0,7 46- 46- 7,16 17- 7,14 37,44 0,8 4,11 15- 11,15 22- 46- 46- 25,37 46- 26,40 46- 27,34
36,44 46- 36,48 37- 40- 17,25 46- 11,18 38- 5,12 37- 0,5 18- 24- 36- 5,11 19,35 17,25 24- 32- 33-
19,26 37- 34- 36-
"""
"""Each is left,right of (left, right], or left- where no deterioration was seen."""

LEFT = np.array([float(each.rstrip("-").split(",")[0]) for each in OBSERVED.split()])
RIGHT = np.array(
    [math.inf if each.endswith("-") else float(each.split(",")[1]) for each in OBSERVED.split()]
)


def test_survival_as_tabulated_from_memory() -> None:
    assert LEFT.size == 46
    months = [5, 7, 8, 12, 25, 34, 40]
    tabulated = [0.954, 0.920, 0.832, 0.761, 0.668, 0.586, 0.466]
    ours = turnbull(LEFT, RIGHT)
    survival = [ours.mass[ours.right > month].sum() for month in months]
    assert survival == pytest.approx(tabulated, abs=0.0005)


def test_masses_are_those_of_a_reference_library() -> None:
    # lifelines takes both ends as closed; a nudge to the left ends opens them.
    weights, _ = npmle(LEFT + 1e-6, RIGHT, tol=1e-10)
    ours = turnbull(LEFT, RIGHT)
    assert ours.mass == pytest.approx(weights, abs=1e-5)


def test_the_median_lies_between_38_and_40_months() -> None:
    assert turnbull(LEFT, RIGHT).quantile(0.5) == (38, 40)
