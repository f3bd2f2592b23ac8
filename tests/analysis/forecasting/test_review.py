from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.review import MOST, NEXT, review
from rearlog.analysis.simulation.simulate import simulate
from rearlog.sentences.review import words
from tests.analysis.invented_forecasts import observed, on, told_of
from tests.analysis.invented_moth import LAID, eggs


@pytest.fixture(scope="module")
def made():
    return simulate(eggs(24, celsius=20.0), seed=11)


def test_a_review_compares_each_days_forecast_with_what_came(made):
    """Beside the forecast of one day, and the true days of the simulation."""
    found = review(made.log, on(60))
    mine = next(each for each in found.reviews if each.event == "eclosion" and each.days_ahead < 15)
    day = (mine.as_of - LAID).days - 1
    told = forecast_model(made.log, on(day, "23:59"))
    rows = [
        each for each in told_of(made.log, on(day, "23:59")).individuals if each.into == "adult"
    ]
    truth = dict(zip(made.log.by_code, made.lives.into[:, -1], strict=True))
    held = sum(row.earliest <= told.date_of(truth[row.individual]) <= row.latest for row in rows)
    assert mine.n == len(rows) == 24
    assert mine.inside <= held <= mine.n - mine.outside
    course = sum(truth.values()) / 24 - told.course.now
    assert mine.days_ahead == pytest.approx(course, abs=0.3)  # middles of intervals of a day


def test_the_windows_of_a_simulated_cohort_hold_what_came(made):
    found = review(made.log, on(60))
    own = [each for each in found.reviews if each.event == "eclosion"]
    n = sum(each.n for each in own)
    assert sum(each.outside for each in own) / n <= 0.15
    assert len({each.as_of for each in found.reviews}) <= MOST
    assert words(found)[1].startswith(f"Of {n} forecasts of the eclosion")


def test_only_what_has_come_is_reviewed(made):
    early = review(made.log, on(9))
    assert {each.event for each in early.reviews} == {NEXT}
    assert all(each.as_of < on(9).date() for each in early.reviews)


def test_a_constant_error_shows_as_lateness():
    """Eggs that need 60 degree-days take 72: at first each forecast is a day too soon."""
    checks = [
        (str(code), day, "egg" if day < 6 else "L1") for code in range(1, 9) for day in range(1, 8)
    ]
    found = review(observed(eggs(8, celsius=20.0), *checks), on(8))
    first = found.reviews[0]
    assert (first.n, first.inside) == (8, 0) or first.days_late > 0
    assert first.days_late == pytest.approx(0.5 + 6 - 1 - 4.1, abs=0.6)


def test_what_the_checks_cannot_tell_is_neither_inside_nor_outside():
    """Hatching is expected on days 3 to 7: on the 2nd and 12th it is outside, on the 5th inside."""
    hatched = {"1": (1, 2), "2": (11, 12), "3": (4, 5), "4": (1, 12), "5": (3, 9)}
    checks = []
    for code, (last_egg, found) in hatched.items():
        days = sorted({1, last_egg})
        checks += [(code, day, "egg") for day in days] + [(code, found, "L1")]
    first = review(observed(eggs(5, celsius=20.0), *checks), on(13)).reviews[0]
    assert first.as_of == on(1).date()
    assert (first.n, first.inside, first.outside) == (5, 1, 2)


@pytest.mark.parametrize("log", [eggs(3), replace(eggs(1), individuals=())])
def test_where_nothing_came_there_is_nothing_to_review(log):
    found = review(log, on(5))
    assert found.reviews == ()
    assert "none of the events" in words(found)[0]


def test_early_and_late_do_not_make_up_for_each_other():
    """Both are expected at one moment: one hatches a day or two before it, the other after."""
    checks = [("1", 1, "egg"), ("1", 2, "egg"), ("1", 3, "L1"), ("2", 1, "egg"), ("2", 6, "egg")]
    first = review(observed(eggs(2, celsius=20.0), *checks, ("2", 7, "L1")), on(8)).reviews[0]
    assert first.n == 2
    # they come in the middle of days 2 to 3 and 6 to 7, four days apart
    assert first.days_off == pytest.approx(2.0, abs=0.01)
    assert abs(first.days_late) < 0.5


def test_the_summary_of_an_event_weighs_each_day_by_its_forecasts(made):
    found = review(made.log, on(60))
    for summary in found.summaries:
        own = [each for each in found.reviews if each.event == summary.event]
        n = [each.n for each in own]
        assert summary.n == sum(n)
        for name in ("days_late", "days_off"):
            values = [getattr(each, name) for each in own]
            assert getattr(summary, name) == pytest.approx(np.average(values, weights=n))
        for name in ("inside", "outside"):
            parts = [getattr(each, name) / each.n for each in own]
            assert getattr(summary, name) == pytest.approx(np.average(parts, weights=n))
    assert {each.event for each in found.summaries} == {NEXT, "eclosion"}


def test_a_long_log_is_reviewed_on_days_spread_evenly():
    log = observed(
        eggs(1, celsius=20.0), *(("1", day, "egg") for day in range(1, 24)), ("1", 24, "L1")
    )
    days = [(each.as_of - LAID).days - 1 for each in review(log, on(25)).reviews]
    assert days[0] == 1
    assert len(days) == 11  # of twelve the last is that of the event itself
    assert {later - earlier for earlier, later in pairwise(days)} == {2, 3}
