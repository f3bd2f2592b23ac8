"""How many will have come by each day, beside counts that are known exactly."""

import numpy as np
import numpy.typing as npt
import pytest
from msgspec.structs import replace
from scipy.stats import binom, norm

from rearlog.analysis.forecasting.emergence import emergence
from rearlog.analysis.forecasting.forecast_model import forecast_model
from tests.analysis.invented_forecasts import observed, on
from tests.analysis.invented_moth import eggs

N = 400


@pytest.fixture(scope="module")
def independent():
    return sharing_nothing(forecast_model(eggs(N, celsius=20.0), on(1)))


def sharing_nothing(model):
    """The same individuals, each coming on its own day, all of one normal distribution."""
    alone = replace(
        model.predictive,
        common_sd=np.zeros_like(model.predictive.mean),
        cut=np.full_like(model.predictive.mean, -np.inf),
    )
    return replace(model, predictive=alone)


def test_the_band_holds_nine_in_ten_of_the_counts(independent):
    """The counts are binomial: its 5 % and 95 % points (scipy), to what 400 draws can tell.

    A band of eight in ten would be narrower by more than a fifth.
    """
    mean, sd = (each[0, -1] for each in (independent.predictive.mean, independent.predictive.sd))
    told: list[tuple[int, int]] = []
    exact: list[npt.NDArray[np.float64]] = []
    for row in emergence(independent):
        end = independent.course.amount(np.array(independent.day_of(row.date) + 1))
        p = float(norm.cdf(end, mean, sd))
        if row.low is not None and row.high is not None and 0.05 < p < 0.95:
            told.append((row.low, row.high))
            exact.append(binom.ppf([0.05, 0.95], N, p))
    widths, wanted = np.diff(told).ravel(), np.diff(exact).ravel()
    assert len(wanted) > 5
    assert widths.sum() == pytest.approx(wanted.sum(), rel=0.08)
    assert np.array(told) == pytest.approx(np.array(exact), abs=5)


def test_a_window_holds_nine_in_ten_and_is_centred_on_the_median(independent):
    """By the distribution function of a reference library."""
    predictive = independent.predictive
    moments = predictive.quantile(independent.moments[:, None, None])[:, 0, -1]
    reached = norm.cdf(moments, predictive.mean[0, -1], predictive.sd[0, -1])
    assert reached == pytest.approx([0.05, 0.5, 0.95], abs=1e-4)


def test_what_all_share_moves_them_together_and_spreads_each_no_more(independent):
    """A day's expected count is the normal distribution's, whatever part of the spread is shared;
    and the counts of a cohort that shares much of it lie farther apart."""
    mean, sd = (each[0, -1] for each in (independent.predictive.mean, independent.predictive.sd))
    alike = replace(independent.predictive, common_sd=0.6 * independent.predictive.sd)
    apart, together = emergence(independent), emergence(replace(independent, predictive=alike))
    checked = 0
    for row in together:
        end = independent.course.amount(np.array(independent.day_of(row.date) + 1))
        p = float(norm.cdf(end, mean, sd))
        if row.expected is not None:
            assert row.expected / N == pytest.approx(p, abs=0.05)
            checked += 0.05 < p < 0.95
    assert checked > 5
    widest = [
        max(row.high - row.low for row in rows if row.high is not None)
        for rows in (apart, together)
    ]
    assert widest[1] > 4 * widest[0]


def test_all_but_one_in_a_hundred_come_in_the_days_that_are_shown():
    """At one degree-day a day, where half a percent more or less are days; by scipy's quantiles."""
    model = sharing_nothing(forecast_model(eggs(N, celsius=9.0), on(1)))
    mean, sd = model.predictive.mean[0, -1], model.predictive.sd[0, -1]
    rows = emergence(model)
    first, last = (
        model.date_of(float(model.days(np.array(norm.ppf(p, mean, sd))))) for p in (0.005, 0.995)
    )
    assert abs((rows[0].date - first).days + 1) <= 1
    assert abs((rows[-1].date - last).days) <= 1


def test_days_run_from_the_first_that_came_or_the_day_before_the_soonest():
    """Of 400 the soonest 0.5 % to come mark the beginning; those who came stand at their day."""
    model = forecast_model(eggs(N, celsius=20.0), on(1))
    amounts = norm.ppf(
        0.005, *(each[0, -1] for each in (model.predictive.mean, model.predictive.sd))
    )
    rows = emergence(model)
    soonest = model.date_of(float(model.days(np.array(amounts))))
    assert abs((rows[0].date - soonest).days + 1) <= 1
    assert rows[0].date > model.date_of(model.course.now)
    came = observed(
        eggs(3, celsius=20.0), *((code, 9, "adult") for code in "12"), ("3", 12, "dead")
    )
    rows = emergence(forecast_model(came, on(14)))
    assert [(row.date, row.came) for row in rows] == [(on(9).date(), 2)]
    assert rows[0].expected is None
