"""Weeks in remission of leukemia patients, 21 on 6-mercaptopurine and 21 on placebo.

Freireich et al. 1963, Blood 21:699–716, as analysed by Kleinbaum & Klein, Survival Analysis,
chapter 2. The data ship with the reference library. Survival and χ² are published there; the
numbers observed and expected, the medians and the standard errors are from memory.
"""

import numpy as np
import numpy.typing as npt
import pytest
from lifelines.datasets import load_leukemia

from rearlog.analysis.statistics.interval_log_rank import interval_log_rank
from rearlog.analysis.statistics.kaplan_meier import kaplan_meier


def arm(placebo: bool) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    data = load_leukemia()
    chosen = data[data["Rx"] == int(placebo)]
    return chosen["t"].to_numpy(dtype=float), chosen["status"].to_numpy(dtype=bool)


def test_survival_on_6_mercaptopurine_as_published() -> None:
    rows = {row.day: row for row in kaplan_meier(*arm(placebo=False)).rows}
    published = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    assert {day: round(rows[day].survival, 3) for day in published} == published


def test_standard_errors_from_memory() -> None:
    rows = {row.day: row for row in kaplan_meier(*arm(placebo=False)).rows}
    remembered = {6: 0.0764, 7: 0.0869, 10: 0.0963, 13: 0.1068, 16: 0.1141, 22: 0.1282, 23: 0.1346}
    assert {day: rows[day].se for day in remembered} == pytest.approx(remembered, abs=0.00005)


def test_medians_from_memory() -> None:
    assert kaplan_meier(*arm(placebo=False)).median_days == 23
    assert kaplan_meier(*arm(placebo=True)).median_days == 8


def test_log_rank_as_published() -> None:
    """The expected are from memory. χ² is published with the hypergeometric variance, here it is
    with that of dealing the scores out: 16.79 beside 15.5."""
    arms = [arm(placebo=False), arm(placebo=True)]
    result = interval_log_rank([(days, np.where(died, days, np.inf)) for days, died in arms])
    assert result.chi2 == pytest.approx(16.79, rel=0.1)
    assert result.df == 1
    assert result.observed == (9, 21)
    assert result.expected == pytest.approx((19.25, 10.75), abs=0.005)
    assert result.p is not None
    assert result.p < 0.001
