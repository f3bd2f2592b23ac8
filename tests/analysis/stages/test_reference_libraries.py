"""The answers about the bundled cohorts against reference libraries, given the same data."""

from pathlib import Path

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from scipy.stats import f_oneway, linregress, ttest_1samp

import rearlog
from rearlog.analysis.comparing.stage_comparison import Counted
from rearlog.analysis.stages.stage_times import StageOutcome, stage_times
from rearlog.analysis.survival.watch import watched
from rearlog.notebook import Notebook, compare, thermal

SAMPLES = Path(__file__).parents[3] / "sample_cohorts"
NAMES = ("cool", "room", "warm")


@pytest.fixture(scope="module")
def shelves() -> dict[str, Notebook]:
    return {name: rearlog.open(SAMPLES / f"{name}.json") for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_survival(shelves: dict[str, Notebook], name: str) -> None:
    """Reference: lifelines.KaplanMeierFitter."""
    seen = watched(shelves[name].event_history)
    reference = KaplanMeierFitter().fit(seen.days, seen.died)
    limits = reference.confidence_interval_survival_function_
    for row in shelves[name].survival().kaplan_meier:
        assert row.survival == pytest.approx(float(reference.predict(row.day)))
        if row.survival < 1:
            assert (row.low, row.high) == pytest.approx(tuple(limits.loc[row.day]))


def test_survival_between_the_shelves(shelves: dict[str, Notebook]) -> None:
    """Reference: lifelines.statistics.multivariate_logrank_test, of deaths dated when found."""
    lives = [watched(each.event_history) for each in shelves.values()]
    shelf = np.repeat(range(3), [len(each.days) for each in lives])
    days, died = (
        np.concatenate([getattr(each, name) for each in lives]) for name in ("days", "died")
    )
    reference = multivariate_logrank_test(days, shelf, died)
    found = compare(list(shelves.values())).survival
    assert found.chi2 == pytest.approx(reference.test_statistic, rel=0.15)
    assert found.p == pytest.approx(reference.p_value, abs=0.05)


@pytest.mark.parametrize("name", NAMES)
def test_the_mean_of_a_stage_whose_passages_are_far_apart(
    shelves: dict[str, Notebook], name: str
) -> None:
    """Reference: scipy.stats; the pupae are spread over days, so that daily checks add nothing."""
    spans = stage_times(shelves[name].event_history, "pupa")
    days = spans.midpoint[spans.which(StageOutcome.COMPLETED)]
    row = next(each for each in shelves[name].durations().stages if each.stage == "pupa")
    reference = ttest_1samp(days, 0).confidence_interval()
    assert (row.mean, row.sd) == pytest.approx((days.mean(), days.std(ddof=1)))
    assert (row.mean_low, row.mean_high) == pytest.approx(tuple(reference), abs=0.02)


def test_heat_between_the_shelves(shelves: dict[str, Notebook]) -> None:
    """Reference: scipy.stats.f_oneway with unequal variances, of the pupae, all of which are known,
    and of the whole development, in which one more is counted that died on the way."""
    rows = {row.stage: row for row in compare(list(shelves.values())).stages if row.unit != "days"}
    for first, until, row, counted in (
        ("pupa", "adult", rows["pupa"], Counted.COMPLETED),
        ("egg", "adult", rows["whole development"], Counted.EVERYBODY),
    ):
        whole = [
            [each.degree_days for each in shelf.durations(first, until).individuals]
            for shelf in shelves.values()
        ]
        known = [np.array([value for value in each if value is not None]) for each in whole]
        reference = f_oneway(*known, equal_var=False)
        assert (row.test, row.counted) == ("Welch ANOVA", counted)
        assert row.p == pytest.approx(
            reference.pvalue, rel=0.02 if counted is Counted.COMPLETED else 0.1
        )


def test_the_line_through_the_rates(shelves: dict[str, Notebook]) -> None:
    """Reference: scipy.stats.linregress on the rates and temperatures of the answer itself."""
    for each in thermal(list(shelves.values())).stages:
        celsius = [point.temperature for point in each.points]
        rates = [point.rate for point in each.points]
        line = linregress(celsius, rates)
        assert each.linear is not None
        assert each.linear.slope == pytest.approx(line.slope)
        assert each.linear.threshold == pytest.approx(-line.intercept / line.slope)
        residuals = np.array(rates) - (line.intercept + line.slope * np.array(celsius))
        assert [point.residual for point in each.points] == pytest.approx(residuals)
