"""Reference: simulated series of days."""

import numpy as np
import pytest

from rearlog.analysis.heat.weather import DAYS_ALIKE, daily_sd, sum_off_mean


def weather(series, days):
    """Days that each resemble the one before: first-order autoregressions of SD 2 °C."""
    rng = np.random.default_rng(7)
    made = np.empty((series, days))
    made[:, 0] = rng.normal(0, 2, series)
    for day in range(1, days):
        noise = rng.normal(0, 2 * np.sqrt(1 - DAYS_ALIKE**2), series)
        made[:, day] = DAYS_ALIKE * made[:, day - 1] + noise
    return made


@pytest.mark.parametrize("ahead", [1, 10, 30])
def test_a_sum_to_come_is_off_the_last_mean_as_often_as_it_says(ahead):
    series = weather(4000, 60)
    off = series[:, 30 : 30 + ahead].sum(axis=1) - ahead * series[:, 23:30].mean(axis=1)
    assert 2 * np.sqrt(sum_off_mean(np.array(ahead))) == pytest.approx(off.std(), rel=0.04)


@pytest.mark.parametrize("length", [7, 20])
def test_the_spread_of_days_is_not_too_small_in_a_short_record(length):
    found = [daily_sd(series) ** 2 for series in weather(2000, length)]
    assert np.mean(found) == pytest.approx(4.0, rel=0.06)


def test_too_few_days_have_no_spread():
    assert daily_sd(np.array([20.0, 25.0])) == 0.0
