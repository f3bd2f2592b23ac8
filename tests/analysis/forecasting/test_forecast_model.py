"""Calendar windows, by hand: the cohort's zero is 9 March at nine in the morning."""

from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast_model import ForecastModel, forecast_model
from rearlog.records.errors import UsageError
from rearlog.records.profile import Span
from tests.analysis.invented_forecasts import on
from tests.analysis.invented_moth import LAID, MEAN_DD, eggs, moth, number, stage


@pytest.fixture(scope="module")
def model() -> ForecastModel:
    return forecast_model(eggs(2, celsius=20.0, zone="UTC"), on(1))


@pytest.mark.parametrize(
    ("moments", "days"),
    [
        ((4.2, 5.0, 6.9), (4, 5, 7)),  # short: every day that it touches
        ((4.7, 5.0, 7.6), (5, 5, 7)),
        ((4.2, 6.0, 8.0), (5, 6, 7)),  # long: from the midnights nearest to its ends
        ((4.0, 6.0, 8.2), (4, 6, 8)),
        ((4.0, 4.1, 4.2), (4, 4, 5)),  # never one day alone
        ((4.7, 4.72, 8.0), (5, 5, 7)),
        ((4.3, 4.4, 8.0), (4, 4, 7)),  # the likely day is in it
        ((2.0, 6.3, 6.5), (2, 6, 6)),
    ],
)
def test_a_window_in_calendar_days(
    model: ForecastModel, moments: tuple[float, float, float], days: tuple[int, int, int]
) -> None:
    found = model.window(np.array(moments))
    assert found == tuple(LAID + timedelta(1 + day) for day in days)


def test_what_is_unknown_has_no_window(model: ForecastModel) -> None:
    assert model.window(np.array([1.0, 2.0, np.nan])) is None


def test_what_would_come_later_than_in_a_thousand_days_is_not_foretold(
    model: ForecastModel,
) -> None:
    """At 20 °C, above 8 °C, twelve degree-days a day."""
    now = float(model.course.amount(np.array(model.course.now)))
    days = model.days(now + 12 * np.array([999.9, 1000.1]))
    assert days[0] == pytest.approx(model.course.now + 999.9)
    assert np.isnan(days[1])


def test_a_past_cohort_of_the_same_phases_counts_and_one_of_others_is_refused():
    now = eggs(2, celsius=20.0)
    moment = now.cohort.started
    assert forecast_model(now, moment, past=[eggs(3, celsius=20.0)]).past_cohorts == 1
    bare = moth(*(stage(code, degree_days=None) for code in MEAN_DD))
    unknown = eggs(2, celsius=20.0, profile=bare)  # of which they can tell nothing
    assert forecast_model(unknown, moment, past=[unknown]).past_cohorts == 0
    both = Span("L2", "pupa", "L2 and L3", degree_days=number(110.0, sd=8.0))
    span = moth(stage("L2", degree_days=None), spans=(both,))
    with pytest.raises(UsageError, match="knows other stages by their length"):
        forecast_model(now, moment, past=[eggs(3, celsius=20.0, profile=span)])


@pytest.mark.parametrize("lacks", ["temperatures", "threshold"])
def test_what_counts_in_days_learns_nothing_of_degree_days_and_is_told_why(lacks: str) -> None:
    warm = eggs(2, celsius=20.0)
    in_days = (
        replace(warm, all_temperatures=())
        if lacks == "temperatures"
        else eggs(2, celsius=20.0, profile=moth(lower=None))
    )
    header = replace(in_days.cohort, name="cool")
    in_days, moment = replace(in_days, cohort=header), warm.cohort.started
    remedy = {
        "temperatures": "record the temperatures of cool with “rearlog temps cool”, or leave",
        "threshold": "the profile of cool has no lower threshold: leave",
    }[lacks]
    with pytest.raises(UsageError, match="cool counts development in days") as caught:
        forecast_model(warm, moment, past=[in_days])
    assert f"{remedy} cool out" in str(caught.value)
    with pytest.raises(UsageError, match="moths counts development in degree-days") as caught:
        forecast_model(in_days, moment, past=[warm])
    assert f"{remedy} moths out" in str(caught.value)
