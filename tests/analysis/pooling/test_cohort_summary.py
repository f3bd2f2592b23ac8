"""A cohort in a few numbers, of lives that are counted by hand."""

from datetime import date, timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.emergence import EmergenceDay
from rearlog.analysis.forecasting.forecast import EventForecast
from rearlog.analysis.pooling.cohort_summary import (
    CohortSummary,
    ExpectedAdults,
    cohort_summary,
    still_to_come,
)
from rearlog.notebook import Notebook
from rearlog.records.fields import Mark
from rearlog.records.log import ConstantTemperature
from tests.builders import START, moment, notebook_of, tiny_log
from tests.made_summaries import stage

LIVES = {
    "1": "egg egg L1 L1 L2 pupa adult",
    "2": "egg L1 L1 - L2 pupa adult",
    "3": "egg egg L1 L1 dead",
    "4": "egg egg lost",
    "5": "egg egg L1 L1 L1 L2",
}


def notebook(**more: Any) -> Notebook:
    log = tiny_log(LIVES, laid=(-1, 0), **more)
    return notebook_of(log)


def test_what_became_of_everyone() -> None:
    of = notebook()
    found = cohort_summary(
        of.log, of.event_history, of.warmth_curve, of.completeness(), of.in_doubt, None
    )
    assert (found.individuals, found.dead, found.lost, found.removed, found.alive) == (
        5,
        1,
        1,
        0,
        3,
    )
    # of 1, 2 and 3 it is known; 5 may come, 4 is gone
    assert (found.known, found.reached, found.waiting, found.gone) == (3, 2, 1, 1)
    assert (found.started, found.last_look) == (START.date(), date(2026, 3, 15))
    assert (found.due, found.missed, found.looks) == (6 + 6 + 4 + 2 + 5, 1, 22)
    assert (found.doubtful, found.celsius, found.last_stage) == (0, None, "adult")
    assert [each.stage for each in found.stages] == [
        "egg", "L1", "L2", "pupa", "egg to adult"
    ]  # fmt: skip
    l1 = found.stages[1]
    assert (l1.entered, l1.completed, l1.died, l1.lost, l1.in_stage) == (4, 3, 1, 0, 0)
    # 1: 2 days, 2: from day 0.5 to 3 (nobody looked on the day before), 5: 3 days
    assert l1.mean == pytest.approx((2.0 + 2.5 + 3.0) / 3)
    assert l1.celsius is None
    egg = found.stages[0]
    assert (egg.entered, egg.completed, egg.lost) == (5, 4, 1)
    # laid half a day before: hatched on day 1.5, 0.5, 1.5 and 1.5
    assert egg.mean == pytest.approx((2.0 + 1.0 + 2.0 + 2.0) / 4)
    assert found.whole is not None
    assert (found.whole.completed, found.whole.mean, found.whole.in_stage) == (
        2, pytest.approx(6.0), 1
    )  # fmt: skip
    assert (found.as_of, found.earliest, found.likely, found.latest) == (None,) * 4


def test_one_that_came_through_has_a_mean_and_no_error() -> None:
    log = tiny_log({"1": "egg egg L1 L1 L2"}, laid=(-1, 0))
    of = notebook_of(log)
    found = cohort_summary(of.log, of.event_history, None, of.completeness(), (), None)
    egg = found.stages[0]
    assert (egg.mean, egg.se, egg.sd, egg.freedom) == (2.0, None, None, None)
    assert found.whole is not None
    assert found.whole.mean is None
    assert egg.interval is None


def test_the_temperature_of_a_stage_is_that_of_those_in_it() -> None:
    """20 °C on the first three days, then 26 °C: eggs were in the cool, pupae in the warm."""
    first = START.date()
    warm = first + timedelta(3)
    of = notebook(
        temperatures=(
            ConstantTemperature(20.0, first - timedelta(1), warm - timedelta(1)),
            ConstantTemperature(26.0, warm),
        )
    )
    found = cohort_summary(of.log, of.event_history, of.warmth_curve, of.completeness(), (), None)
    by_name = {each.stage: each.celsius for each in found.stages}
    assert by_name["egg"] == pytest.approx(20.0)
    assert by_name["pupa"] == pytest.approx(26.0)
    whole = by_name["egg to adult"]
    assert whole is not None
    assert 22.0 < whole < 24.0
    assert found.celsius == of.celsius


def test_a_temperature_that_is_known_for_a_few_is_not_told() -> None:
    day = START.date()
    of = notebook(temperatures=(ConstantTemperature(20.0, day - timedelta(1), day),))
    found = cohort_summary(of.log, of.event_history, of.warmth_curve, of.completeness(), (), None)
    assert found.stages[0].celsius is None  # one egg of four hatched on the first day


def test_who_is_still_to_come() -> None:
    assert still_to_come(notebook().event_history)
    over = {code: line for code, line in LIVES.items() if code != "5"}
    log = tiny_log(over)
    assert not still_to_come(notebook_of(log).event_history)


def test_a_forecast_that_is_overdue_says_nothing() -> None:
    of = notebook()
    late = of.forecast(as_of=moment(200))
    found = cohort_summary(of.log, of.event_history, None, of.completeness(), (), late)
    assert (found.as_of, found.coming) == (None, ())


def test_limits_of_a_mean_by_hand() -> None:
    """t on 19 degrees of freedom is 2.0930."""
    assert stage(20.0, 0.5).interval == pytest.approx((20 - 1.0465, 20 + 1.0465), abs=1e-4)
    assert stage(0.5, 0.5).interval == pytest.approx((0.0, 1.5465), abs=1e-4)


def test_temperatures_that_were_struck_out_are_counted() -> None:
    of = notebook()
    mark = Mark(START, "typed wrongly")
    kept = ConstantTemperature(27.0, START.date())
    all_of_them = (
        kept,
        replace(kept, marks=(mark,)),
        replace(kept, marks=(mark, replace(mark, back=True))),
    )
    log = replace(of.log, all_temperatures=all_of_them)
    found = cohort_summary(log, of.event_history, None, of.completeness(), (), None)
    assert found.struck_temperatures == 1
    none = cohort_summary(of.log, of.event_history, None, of.completeness(), (), None)
    assert none.struck_temperatures == 0


def test_the_temperature_of_a_stage_is_told_where_it_is_known_for_half() -> None:
    """Of two that were larvae, one until the last day whose temperature is known."""
    lives = {"1": "egg L1! L1 L2!", "2": "egg L1! L1 L1 L1 L2!"}
    for days, celsius in ((1, None), (3, 20.0)):
        last = START.date() + timedelta(days)
        kept = ConstantTemperature(20.0, START.date(), last)
        of = notebook_of(tiny_log(lives, temperatures=(kept,)))
        found = cohort_summary(
            of.log, of.event_history, of.warmth_curve, of.completeness(), (), None
        )
        assert {each.stage: each.celsius for each in found.stages}["L1"] == celsius


COMING = EventForecast(
    "eclosion", "adult", date(2026, 5, 1), date(2026, 5, 2), date(2026, 5, 4), 3, 3, overdue=False
)


def foretold(
    *expected: float, came: int | None, last: EventForecast | None = COMING
) -> CohortSummary:
    """With so many expected by the end of each day from the first of May on; before that day so
    many `came` (None: it is the first)."""
    of = notebook()
    days = [EmergenceDay(date(2026, 5, 1 + n), x, 0, 9, None) for n, x in enumerate(expected)]
    if came is not None:
        days.insert(0, EmergenceDay(date(2026, 4, 30), None, None, None, came))
    events = () if last is None else (last,)
    forecast = replace(of.forecast(as_of=moment(6)), emergence=tuple(days), events=events)
    return cohort_summary(of.log, of.event_history, None, of.completeness(), (), forecast)


def test_adults_to_come_are_the_steps_of_those_expected() -> None:
    """By hand; steps of less than half a hundredth are not told."""
    first, second, third = (date(2026, 5, day) for day in (1, 2, 3))
    assert foretold(3.25, 3.25, 5.0, came=3).coming == (
        ExpectedAdults(first, 0.25),
        ExpectedAdults(third, 1.75),
    )
    assert foretold(0.25, 0.754, came=None).coming == (
        ExpectedAdults(first, 0.25),
        ExpectedAdults(second, 0.5),
    )
    assert foretold(0.005, came=0).coming == (ExpectedAdults(first, 0.01),)
    assert foretold(0.0049, came=0).coming == ()


def test_a_window_is_told_where_something_can_be_foretold() -> None:
    found = foretold(3.25, came=3)
    assert found.as_of == date(2026, 3, 15)
    assert (found.earliest, found.likely, found.latest) == (
        COMING.earliest, COMING.likely, COMING.latest
    )  # fmt: skip
    for last in (None, replace(COMING, earliest=None), replace(COMING, overdue=True)):
        nothing = foretold(3.25, came=3, last=last)
        assert (nothing.as_of, nothing.earliest, nothing.latest, nothing.coming) == (
            None, None, None, ()
        )  # fmt: skip
