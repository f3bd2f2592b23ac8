"""The heat chart: running totals, days that are filled or missing, stages on the line."""

from datetime import date, timedelta

import pytest
from matplotlib.patches import Rectangle, StepPatch
from msgspec.structs import replace

from rearlog.charts.heat import heat
from rearlog.sentences.stage_heat import alt_text, title
from tests.charts.conftest import LIVES, Answers, line_of, parts, small_cohort, texts, words


def test_the_total_rises_from_the_first_midnight_by_each_day(room: Answers) -> None:
    total = line_of(heat([room.heat]), "total-room")
    # ten degree-days a day from the 8th to the 22nd: 150 by the end of the 22nd
    assert total.get_xdata()[0] == date(2026, 3, 8).toordinal()
    assert total.get_ydata().tolist() == pytest.approx([10.0 * day for day in range(16)])


def test_the_total_ends_where_the_temperature_is_missing(shelf: Answers) -> None:
    figure = heat([shelf.heat])
    assert line_of(figure, "total-shelf").get_xdata()[-1] == date(2026, 3, 14).toordinal()
    gap = parts(figure)["missing-daily-shelf-2026-03-14"]
    assert isinstance(gap, Rectangle)
    assert (gap.get_x(), gap.get_width()) == (date(2026, 3, 14).toordinal(), 4)
    daily = parts(figure)["daily-shelf"]
    assert isinstance(daily, StepPatch)
    known = [value == value for value in daily.get_data().values]
    assert known == [True] * 6 + [False] * 4 + [True] * 5
    assert "no temperature" in words(figure)
    assert "no temperature on 4 days" in alt_text([shelf.heat])


def test_filled_days_are_hollow() -> None:
    filled = small_cohort("room", LIVES, missing=range(6, 8)).heat
    marks = line_of(heat([filled]), "filled-room")
    middle_of = [date(2026, 3, day).toordinal() + 0.5 for day in (14, 15)]
    assert marks.get_xdata().tolist() == middle_of
    assert marks.get_markerfacecolor() == "#ffffff"
    assert "Hollow" in words(heat([filled]))


def test_stages_stand_on_the_line_when_half_had_arrived(room: Answers) -> None:
    figure = heat([room.heat], stage_counts=[room.stage_counts])
    # the pupae came on days 6.5 and 7.5 after the 9th, 9:00: the middle is the 16th, 9:00,
    # when eight days of ten degree-days and nine hours had passed
    mark = line_of(figure, "stage-room-pupa")
    assert mark.get_xdata()[0] - date(2026, 3, 16).toordinal() == pytest.approx(9 / 24)
    assert mark.get_ydata()[0] == pytest.approx(80 + 10 * 9 / 24)
    assert "pupa" in words(figure).splitlines()


def test_stages_after_a_gap_are_not_guessed(shelf: Answers) -> None:
    drawn = parts(heat([shelf.heat], stage_counts=[shelf.stage_counts]))
    assert "stage-shelf-pupa" in drawn
    assert "stage-shelf-adult" not in drawn  # they came on the 16th, the total ends on the 14th


def test_titles(room: Answers, shelf: Answers) -> None:
    assert title([room.heat]) == "150 degree-days above 10 °C by 22 Mar in room"
    assert title([shelf.heat]) == (
        "Egg needed less heat than expected in shelf: 10 degree-days, not 20 to 30"
    )
    both = title([room.heat, shelf.heat])
    assert both == "Degree-days had: room 150 by 22 Mar, shelf 60 by 13 Mar"


def test_a_total_that_never_began_is_not_shown_as_zero() -> None:
    late = small_cohort("late", LIVES, missing=range(5)).heat
    assert title([late]) == "The first day of late has no temperature: the total is not known"
    assert title([late, late]) == "Degree-days had: late unknown, late unknown"


def test_the_notes_name_the_way_of_counting(room: Answers) -> None:
    assert "Counted by single-sine, threshold 10 °C." in words(heat([room.heat]))


def test_a_day_on_which_the_clocks_change_is_named(room: Answers) -> None:
    changed = replace(room.heat, clock_changes=(date(2026, 3, 29),))
    assert "Clocks changed on 29 Mar: not" in words(heat([changed]))
    assert "Clocks" not in words(heat([room.heat], stage_counts=[room.stage_counts]))


def test_both_panels_show_the_same_days_from_zero_to_above_the_total(room: Answers) -> None:
    figure = heat([room.heat])
    running, each_day = figure.axes[:2]
    first, last = date(2026, 3, 8).toordinal(), date(2026, 3, 23).toordinal()
    for axes in (running, each_day):
        low, high = axes.get_xlim()
        assert low <= first < last <= high < last + 2
        assert axes.get_ylim()[0] == 0
    assert running.get_ylim()[1] == pytest.approx(1.1 * 150)
    assert each_day.get_ylim()[1] > 10  # degree-days a day


def test_every_stage_of_one_cohort_is_named_and_the_days_of_several_are_hatched_apart(
    room: Answers, shelf: Answers
) -> None:
    named = words(heat([room.heat], stage_counts=[room.stage_counts])).splitlines()
    assert {"L1", "L2", "pupa", "adult"} <= set(named)
    without = [replace(shelf.heat, cohort=name) for name in ("one", "other")]
    both = parts(heat(without))
    hatches = [both[f"missing-daily-{name}-2026-03-14"].get_hatch() for name in ("one", "other")]
    assert hatches[0] != hatches[1]
    assert "missing-running-one-2026-03-14" not in both
    assert "missing-running-shelf-2026-03-14" in parts(heat([shelf.heat]))


def test_a_cohort_without_any_heat_has_an_axis_too() -> None:
    cold = small_cohort("cold", LIVES, missing=range(5)).heat
    assert heat([cold]).axes[0].get_ylim() == (0.0, pytest.approx(1.1))


@pytest.mark.parametrize(("times", "named"), [(1.0, 1), (1.071, 1), (1.073, 2), (1.13, 2)])
def test_a_name_stands_where_none_is_in_its_way(room: Answers, times: float, named: int) -> None:
    """The same dates, so many times the heat: 123.75 degree-days were had by half of the adults.

    Of the page's 1.24 × 36.8 letters, words take 6.02 and axes 2 × 2.4 + 4, and of the other 30.81
    the totals 0.72, for 1.1 times the highest, 150 times as many. A name is 1.3 × 0.86 = 1.118
    letters high.
    """
    daily = tuple(
        replace(
            each,
            degree_days=times * (each.degree_days or 0.0),
            cumulative=times * (each.cumulative or 0.0),
        )
        for each in room.heat.daily
    )
    other = replace(room.heat, cohort="warmer", daily=daily)
    counts = [room.stage_counts, replace(room.stage_counts, cohort="warmer")]
    away = 123.75 * (times - 1) * 0.72 * 30.812 / (1.1 * 150 * times)
    assert (away > 1.118) == (named == 2)
    figure = heat([room.heat, other], stage_counts=counts)
    assert [text.get_text() for text in texts(figure)].count("adult") == named


@pytest.mark.parametrize(("apart", "named"), [(1.05, 1), (1.08, 2), (-1.05, 1), (-1.08, 2)])
def test_names_of_one_height_stand_where_they_are_far_enough_apart(
    room: Answers, apart: float, named: int
) -> None:
    """No heat was had after the first day. Of the page 0.78 × 504 pt are fifteen days: a name is
    3.6 × 7.74 = 27.9 pt wide, 1.063 days."""
    flat = tuple(replace(each, degree_days=0.0, cumulative=50.0) for each in room.heat.daily)
    found = replace(room.heat, daily=flat)
    first, second = room.stage_counts.arrivals[:2]
    moved = replace(second, median=first.median + timedelta(days=5))
    close = replace(first, median=moved.median + timedelta(days=apart))
    counts = replace(room.stage_counts, arrivals=(close, moved))
    shown = words(heat([found], stage_counts=[counts])).splitlines()
    assert len({first.stage, second.stage} & set(shown)) == named


def test_the_days_of_a_fourth_cohort_are_hatched_as_those_of_the_first(shelf: Answers) -> None:
    names = ["a", "b", "c", "d"]
    drawn = parts(heat([replace(shelf.heat, cohort=name) for name in names]))
    hatches = [drawn[f"missing-daily-{name}-2026-03-14"].get_hatch() for name in names]  # type: ignore[attr-defined]
    assert hatches == ["///", "\\\\\\", "|||", "///"]


@pytest.mark.parametrize(
    ("day", "hour", "drawn"), [(7, 23, False), (8, 0, True), (23, 0, True), (23, 1, False)]
)
def test_stages_are_marked_from_the_first_to_the_last_total_that_is_known(
    room: Answers, day: int, hour: int, drawn: bool
) -> None:
    """From the midnight before 8 March to that after the 22nd."""
    first = room.stage_counts.arrivals[0]
    came = replace(first, median=first.median.replace(day=day, hour=hour, minute=0))
    figure = heat([room.heat], stage_counts=[replace(room.stage_counts, arrivals=(came,))])
    assert (f"stage-room-{first.stage}" in parts(figure)) == drawn
