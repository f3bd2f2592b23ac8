"""How many will have come by each day, beside counts that are known exactly."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, norm

from rearlog.analysis.forecasting.emergence import emergence
from rearlog.analysis.forecasting.model import MOMENTS, forecast_model
from tests.analysis.invented_forecasts import on
from tests.analysis.invented_moth import eggs

N = 400


@pytest.fixture(scope="module")
def independent():
    """Individuals that share nothing: each comes on its own day, all of one normal distribution."""
    model = forecast_model(eggs(N, celsius=20.0), on(1))
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
    told, exact = [], []
    for row in emergence(independent):
        end = independent.course.amount(np.array(independent.day_of(row.date) + 1))
        p = float(norm.cdf(end, mean, sd))
        if row.low is not None and 0.05 < p < 0.95:
            told.append((row.low, row.high))
            exact.append(binom.ppf([0.05, 0.95], N, p))
    widths, wanted = np.diff(told).ravel(), np.diff(exact).ravel()
    assert len(wanted) > 5
    assert widths.sum() == pytest.approx(wanted.sum(), rel=0.08)
    assert np.array(told) == pytest.approx(np.array(exact), abs=5)


def test_a_window_holds_nine_in_ten_and_is_centred_on_the_median(independent):
    """By the distribution function of a reference library."""
    predictive = independent.predictive
    moments = predictive.quantile(np.array(MOMENTS)[:, None, None])[:, 0, -1]
    reached = norm.cdf(moments, predictive.mean[0, -1], predictive.sd[0, -1])
    assert reached == pytest.approx([0.05, 0.5, 0.95], abs=1e-4)
