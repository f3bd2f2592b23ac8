import subprocess
import sys
from datetime import timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.due import Next, NextEvents, _due, _next, _urgency, due
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.individual_forecast import IndividualForecast
from rearlog.present.json import plain
from rearlog.records.log import DayExtremes
from rearlog.sentences.due import summary
from tests.analysis.invented_forecasts import SURE, observed, on
from tests.analysis.invented_moth import LAID, eggs


def due_of(log, as_of):
    return due(forecast_model(log, as_of))


def through(code, *stages):
    """Checks of one individual, a stage a day from day 1 on."""
    return [(code, day, stage) for day, stage in enumerate(stages, start=1)]


def test_the_line_counts_the_living_and_says_what_comes_by_when():
    """60 degree-days at 12 a day: hatching on Friday 13 March."""
    found = due_of(observed(eggs(3, celsius=20.0, profile=SURE), ("3", 2, "dead")), on(2))
    assert summary(found) == "2 alive: 2 eggs; 2 should hatch by Friday"
    assert (found.alive, found.stages[0].stage) == (2, "egg")


def test_the_farthest_stage_is_named_first():
    checks = [*through("1", "egg", "egg"), *through("2", "pupa", "pupa")]
    found = due_of(observed(eggs(2, celsius=20.0), *checks), on(2))
    assert summary(found).startswith("2 alive: 1 pupa, 1 egg; ")


def test_adults_are_missed_once_eggs_or_a_mate_were_told():
    """Both are adult on day 2, and one is dead on day 3: the watch of the other goes on."""
    looks = [*through("1", "pupa", "adult", "adult"), *through("2", "pupa", "adult", "dead")]
    log = observed(eggs(3, celsius=20.0), *looks, ("3", 3, "pupa"))
    assert [each.individual for each in due_of(log, on(6)).not_seen] == ["3"]
    laying = log.with_checks([replace(log.checks["1"][-1], at=on(4), eggs=3)])
    found = due_of(laying, on(6))
    assert {each.individual: (each.stage, each.days) for each in found.not_seen} == {
        "3": ("pupa", 3),
        "1": ("adult", 2),
    }
    assert due_of(laying, on(5)).not_seen[0].individual == "3"
    assert len(due_of(laying, on(5)).not_seen) == 1  # yesterday is early enough


def test_where_nothing_is_near_the_next_event_is_named():
    found = due_of(eggs(2, celsius=13.0, profile=SURE), on(0))
    assert summary(found) == "2 alive: 2 eggs; the next should hatch about Friday 20 March"
    assert found.events == ()


@pytest.mark.parametrize(("day", "near"), [(0, False), (1, True), (2, True)])
def test_what_is_likely_within_three_days_is_near(day, near):
    """60 degree-days at 12 a day from the middle of the day of laying on: hatching on day 4."""
    found = due_of(eggs(2, celsius=20.0, profile=SURE), on(day))
    likely = due_of(eggs(2, celsius=20.0, profile=SURE), on(3)).events[0].likely
    assert likely == on(4).date()
    assert (found.next.what is Next.NEAR) == near


def test_who_is_overdue_is_not_counted_among_those_to_come_next():
    late = [*through("1", *["egg"] * 7), *through("2", *["egg"] * 4, *["L1"] * 3)]
    found = due_of(observed(eggs(2, celsius=20.0, profile=SURE), *late), on(7))
    assert [each.individual for each in found.events if each.when == "overdue"] == ["1"]
    assert found.next.events == (("molt to L2", 1),)


def test_the_overdue_come_first_then_the_due_then_those_to_come():
    checks = [
        *through("1", *["egg"] * 16),
        *through("2", *["egg"] * 5, *["L1"] * 4, *["L2"] * 3, *["L3"] * 4),
        *through("3", *["egg"] * 6, *["L1"] * 4, *["L2"] * 2, *["L3"] * 4),
        *through("4", *["egg"] * 8, *["L1"] * 4, *["L2"] * 4),
    ]
    found = due_of(observed(eggs(4, celsius=20.0), *checks), on(16))
    assert (found.events[0].individual, found.events[0].when) == ("1", "overdue")
    order = [("overdue", "due", "soon").index(each.when) for each in found.events]
    assert order == sorted(order)
    assert len(set(order)) == 3
    assert "1 overdue" in summary(found)
    assert found.events[0].overdue_days > 5


def test_the_longest_overdue_comes_first():
    checks = [*through("1", *["egg"] * 8, *["L1"] * 9), *through("2", *["egg"] * 17)]
    found = due_of(observed(eggs(2, celsius=20.0), *checks), on(17))
    assert [(each.individual, each.when) for each in found.events] == [
        ("2", "overdue"),
        ("1", "overdue"),
    ]


def test_who_was_not_looked_at_is_listed_longest_first():
    checks = [("1", 3, "egg"), ("2", 1, "egg"), ("3", 4, "egg"), ("4", 1, "dead")]
    found = due_of(observed(eggs(4, celsius=15.0), *checks), on(5))
    assert [(each.individual, each.days) for each in found.not_seen] == [("2", 4), ("1", 2)]
    assert found.not_seen[0].last_seen == on(1).date()


def test_days_without_a_temperature_are_listed_to_yesterday():
    days = tuple(DayExtremes(LAID + timedelta(step), 18, 22) for step in (0, 1, 3))
    found = due_of(observed(eggs(1, *days), ("1", 6, "egg")), on(6))
    missing = [(each - LAID).days for each in found.missing_temperatures]
    assert missing == [2, 4, 5, 6]
    assert due_of(eggs(1, celsius=20.0), on(6)).missing_temperatures == ()


@pytest.mark.parametrize(
    ("checks", "said"),
    [
        ([("1", 1, "dead"), ("2", 1, "lost")], "Nobody is left: 1 died and 1 was lost."),
        ([("1", 1, "adult"), ("2", 1, "dead")], "1 alive: 1 adult; nothing more is to come"),
        ([("1", 1, "adult"), ("2", 1, "adult")], "2 alive: 2 adults; nothing more is to come"),
    ],
)
def test_where_nobody_develops(checks, said):
    log = replace(observed(eggs(2), *checks), all_temperatures=())
    found = due_of(log, on(9))
    assert summary(found) == said
    assert (found.events, found.not_seen, found.missing_temperatures) == ((), (), ())


def test_where_nothing_can_be_foretold():
    found = due_of(eggs(2, celsius=5.0), on(3))
    assert summary(found) == "2 alive: 2 eggs; nothing else can be foretold"
    assert found.events == ()
    assert plain(found)


def coming(code, earliest, likely, latest, overdue=None, event="hatch"):
    """The next event of an individual, its window so many days after LAID."""
    first, middle, last = (
        None if day is None else LAID + timedelta(day) for day in (earliest, likely, latest)
    )
    return IndividualForecast(code, "egg", event, "L1", first, middle, last, None, overdue)


def test_an_event_is_due_from_the_first_day_of_its_window_and_soon_three_days_before():
    rows = [
        coming("late", -9, -8, -7, 2.0),
        coming("today", 0, 2, 4),
        coming("tomorrow", 1, 2, 4),
        coming("near", 3, 4, 5),
        coming("far", 4, 5, 6),
        *(coming("?", *days) for days in ((None, 1, 2), (0, None, 2), (0, 1, None))),
    ]
    assert [(each.individual, each.when) for each in _due(rows, LAID)] == [
        ("late", "overdue"),
        ("today", "due"),
        ("tomorrow", "soon"),
        ("near", "soon"),
    ]


def test_of_what_is_equally_urgent_what_is_likely_first_and_then_surest_comes_first():
    rows = [
        coming("d", 0, 3, 5),
        coming("c", 0, 3, 4),
        coming("b", -5, -4, -2, 1.5),
        coming("e", 1, 1, 9),
        coming("a", -3, -2, -1, 2.5),
        coming("f", 2, 3, 5),
    ]
    found = sorted(_due(rows, LAID), key=_urgency)
    assert [each.individual for each in found] == ["a", "b", "c", "d", "e", "f"]


def test_what_comes_next_is_what_is_likely_in_the_three_days_from_today_on():
    order = ["hatch", "molt", "eclosion"]
    molt = coming("2", 1, 3, 5, event="molt")
    rows = [
        coming("1", 0, 2, 4),
        molt,
        coming("3", 0, 2, 4),
        coming("4", 2, 4, 9, event="eclosion"),
    ]
    near = (("molt", 1), ("hatch", 2))
    assert _next(rows, order, LAID) == NextEvents(Next.NEAR, near, LAID + timedelta(3))
    missed = [coming("1", -5, -3, 1), coming("2", -5, -2, 1), coming("3", -5, -4, -2, 0.5)]
    assert _next(missed, order, LAID) == NextEvents(Next.NEAR, (("hatch", 2),), LAID)
    later = [coming("1", 8, 9, 10), coming("2", 2, 4, 6, event="molt"), coming("3", 5, None, 9)]
    assert _next(later, order, LAID) == NextEvents(Next.LATER, (("molt", 1),), LAID + timedelta(4))
    assert _next([], order, LAID) == NextEvents(Next.NOTHING)
    assert _next(later[2:], order, LAID) == NextEvents(Next.UNFORESEEN)


def test_those_that_ended_stand_from_the_farthest_on_and_most_first():
    looks = [
        *(("1", 1, "dead"), ("2", 1, "L1"), ("3", 1, "L1"), ("4", 1, "L1")),
        *(("2", 2, "lost"), ("3", 2, "dead"), ("4", 2, "dead")),
    ]
    found = due_of(observed(eggs(4, celsius=20.0), *looks), on(2)).ended
    assert [(each.fate, each.stage, each.n) for each in found] == [
        ("dead", "L1", 2),
        ("lost", "L1", 1),
        ("dead", "egg", 1),
    ]


def test_scipy_is_not_loaded():
    """Asked each morning, so it must start fast."""
    code = "import sys, rearlog.analysis.forecasting.due; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
