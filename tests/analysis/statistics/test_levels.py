"""The levels of limits and windows against the tables of the normal distribution and t."""

import math
from statistics import NormalDist

import pytest

from rearlog.analysis.statistics.levels import CONFIDENCE, DIFFERENT, WINDOW, Z_95, tails
from rearlog.analysis.statistics.student_t import limit_95
from rearlog.analysis.statistics.truncated_normal import quantile_beyond
from rearlog.sentences.phrases import BAND, INTERVAL, LIMITS, percent


def test_tails_are_alike_and_leave_the_part_between_them() -> None:
    assert tails(0.9) == (0.05, 0.95)
    assert tails(0.5) == (0.25, 0.75)


def test_limits_and_windows_are_those_of_the_tables() -> None:
    # published in every table of z and t: 1.960, 1.645, and 2.571 for 5 degrees of freedom
    assert pytest.approx(1.95996, abs=1e-5) == Z_95
    latest = float(quantile_beyond(-math.inf, tails(WINDOW)[1]))
    assert latest == pytest.approx(1.64485, abs=1e-4)
    assert limit_95(5) == pytest.approx(2.5706, abs=1e-4)
    assert NormalDist().cdf(latest) - NormalDist().cdf(-latest) == pytest.approx(0.9, abs=1e-4)


def test_words_say_the_levels_that_are_used() -> None:
    assert (CONFIDENCE, WINDOW, DIFFERENT) == (0.95, 0.90, 0.05)
    assert (INTERVAL, LIMITS, BAND) == ("95 % interval", "95 % limits", "95 % band")
    assert percent(WINDOW) == "90 %"
