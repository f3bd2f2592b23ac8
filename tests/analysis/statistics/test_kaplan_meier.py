"""Survival curves, against a reference library."""

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.utils import median_survival_times
from statsmodels.stats.proportion import proportion_confint

from rearlog.analysis.statistics.kaplan_meier import kaplan_meier

Group = tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]


def invented(seed: int, n: int, days: int = 40) -> Group:
    """Whole days, so with many ties, a third censored."""
    generator = np.random.default_rng(seed)
    return generator.integers(1, days, n), generator.random(n) < 0.67


@pytest.mark.parametrize("seed", range(6))
def test_every_row_is_that_of_lifelines(seed: int) -> None:
    days, died = invented(seed, n=15 + 40 * seed)
    result = kaplan_meier(days, died)
    reference = KaplanMeierFitter().fit(days, died)
    assert [row.day for row in result.rows] == reference.timeline.tolist()
    counts = reference.event_table[["at_risk", "observed", "censored"]].to_numpy()[1:]
    assert [(row.at_risk, row.deaths, row.censored) for row in result.rows[1:]] == [
        tuple(each) for each in counts
    ]
    survival = reference.survival_function_.to_numpy()[:, 0]
    assert [row.survival for row in result.rows] == pytest.approx(survival)
    se = survival * np.sqrt(reference._cumulative_sq_.to_numpy())
    limits = reference.confidence_interval_.to_numpy()
    compared = [place for place, row in enumerate(result.rows) if 0 < row.survival < 1]
    assert len(compared) > len(result.rows) // 2
    for place in compared:
        row = result.rows[place]
        assert (row.se, row.low, row.high) == pytest.approx((se[place], *limits[place]))


@pytest.mark.parametrize("seed", range(6))
def test_the_median_and_its_limits_are_those_of_lifelines(seed: int) -> None:
    days, died = invented(seed, n=10 + 20 * seed)
    result = kaplan_meier(days, died)
    reference = KaplanMeierFitter().fit(days, died)
    limits = median_survival_times(reference.confidence_interval_).to_numpy()[0]
    found = [result.median_days, result.median_low, result.median_high]
    assert [np.inf if each is None else each for each in found] == [
        reference.median_survival_time_,
        *limits,
    ]


def test_the_first_row_is_the_start() -> None:
    first = kaplan_meier([3, 5], [True, False]).rows[0]
    assert (first.day, first.at_risk, first.deaths, first.survival, first.se) == (0, 2, 0, 1, 0)
    assert (first.low, first.high) == pytest.approx(proportion_confint(2, 2, method="wilson"))


def test_where_all_or_none_survive_the_limits_are_those_of_wilson() -> None:
    """Reference: statsmodels. Six still followed are not sure to live, nor four dead to die."""
    rows = {row.day: row for row in kaplan_meier([3, 3, 5, 9, 9, 9], [False] * 6).rows}
    for day, n in ((0, 6), (3, 6), (5, 4), (9, 3)):
        wilson = proportion_confint(n, n, method="wilson")
        assert (rows[day].low, rows[day].high) == pytest.approx(wilson)
    last = kaplan_meier([1, 2, 3, 3, 2], [True] * 4 + [False]).rows[-1]
    assert (last.low, last.high) == pytest.approx(proportion_confint(0, 4, method="wilson"))


def test_deaths_on_the_first_day_show_in_the_first_row() -> None:
    first = kaplan_meier([0, 0, 0, 5], [True, False, False, True]).rows[0]
    assert (first.at_risk, first.deaths, first.censored, first.survival) == (4, 1, 2, 0.75)


def test_what_is_undefined_is_none() -> None:
    extinct = kaplan_meier([1, 2], [True, True]).rows[-1]
    assert (extinct.survival, extinct.se) == (0, None)
    alive = kaplan_meier([4, 6], [False, False])
    assert alive.rows[-1].survival == 1
    assert (alive.median_days, alive.median_low, alive.median_high) == (None, None, None)


def test_half_of_them_are_half_whatever_the_rounding() -> None:
    medians = [kaplan_meier(range(1, n + 1), [True] * n).median_days for n in range(2, 60, 2)]
    assert medians == [n / 2 for n in range(2, 60, 2)]


def test_the_counts_of_the_whole() -> None:
    result = kaplan_meier([1, 2, 2, 9], [True, False, False, False])
    assert (result.n, result.deaths, result.censored) == (4, 1, 3)


@given(st.lists(st.tuples(st.integers(0, 9), st.booleans()), min_size=1, max_size=20))
@settings(max_examples=100)
def test_the_curve_never_rises_and_keeps_within_its_limits(lives: list[tuple[int, bool]]) -> None:
    result = kaplan_meier([days for days, _ in lives], [died for _, died in lives])
    survival = [row.survival for row in result.rows]
    assert survival == sorted(survival, reverse=True)
    assert sum(row.deaths + row.censored for row in result.rows) == result.n == len(lives)
    for row in result.rows:
        assert 0 <= row.low <= row.survival <= row.high <= 1


@pytest.mark.parametrize(
    ("days", "died"),
    [
        ([], []),
        ([1, 2], [True]),
        ([-1], [True]),
        ([float("nan")], [True]),
        ([float("inf")], [True]),
        ([[1]], [[True]]),
    ],
)
def test_what_is_no_sample(days: list[float], died: list[bool]) -> None:
    with pytest.raises(ValueError, match="durations"):
        kaplan_meier(days, died)
