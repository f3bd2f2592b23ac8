from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from matplotlib.text import Annotation, Text
from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.forecasting.future_temperature import TemperatureBasis
from rearlog.charts.forecast import EXPECTED_DASH, forecast
from rearlog.notebook import Notebook
from rearlog.sentences.forecast import alt_text, notes, title

ROOM = Path(__file__).parents[2] / "sample_cohorts" / "room.json"


def as_of(month: int, day: int) -> Forecast:
    return Notebook(ROOM).forecast(as_of=datetime(2026, month, day, 12, tzinfo=UTC))


def test_what_came_and_what_is_expected_meet_at_now() -> None:
    result = as_of(4, 4)
    axes = forecast([result]).axes[0]
    lines = {line.get_gid(): line for line in axes.get_lines()}
    now = datetime(2026, 4, 5).toordinal()
    assert lines["as-of"].get_xdata()[0] == now
    assert max(lines["came-room"].get_xdata()) == now
    assert min(lines["expected-room"].get_xdata()) == now
    assert max(lines["came-room"].get_ydata()) == 3  # adults on 4 April, counted in the raw file


def test_the_band_holds_the_expected_line() -> None:
    axes = forecast([as_of(4, 4)]).axes[0]
    band = next(each for each in axes.collections if each.get_gid() == "band-room")
    line = next(each for each in axes.get_lines() if each.get_gid() == "expected-room")
    corners = band.get_paths()[0].vertices
    for day, expected in zip(*map(np.asarray, line.get_data()), strict=True):
        at_day = corners[corners[:, 0] == day, 1]
        assert at_day.min() - 0.5 <= expected <= at_day.max() + 0.5  # whole animals


def test_the_title_says_by_when() -> None:
    assert title([as_of(4, 4)]) == "Half of the adults still to come are expected by 6 Apr"
    assert "room" in alt_text([as_of(4, 4)])


def test_when_all_have_come_the_title_says_how_many() -> None:
    result = as_of(5, 1)
    assert title([result]) == "Adults so far: room 17 by 9 Apr"
    lines = forecast([result]).axes[0].get_lines()
    assert {line.get_gid() for line in lines} - {None} == {"came-room"}


def test_the_axis_and_the_note_name_the_adults() -> None:
    figure = forecast([as_of(4, 4)])
    written = [text.get_text() for text in figure.findobj(Text)]
    assert "Adults so far, or expected" in written
    assert any(text.startswith("Solid: adults so far; dashed: what is") for text in written)


MARCH, APRIL = date(2026, 3, 9), date(2026, 4, 9)
BASES = (
    (None, "not known"),
    (TemperatureBasis(21.0, True, None, None, 7, 0.0), "21 °C, as given"),
    (
        TemperatureBasis(21.0, True, MARCH, APRIL, 7, 0.0),
        "as given for 2026-03-09 to 2026-04-09 (21.0 °C on average), "
        "then the mean of the last 7 days",
    ),
    (
        TemperatureBasis(21.0, False, None, None, 7, 0.1),
        "21.0 °C, the mean of the last 7 days on record, taken to get warmer: "
        "by 0.10 °C a day, then less",
    ),
)


@pytest.mark.parametrize(("basis", "said"), BASES)
def test_the_note_says_how_warm_it_is_taken_to_be(
    basis: TemperatureBasis | None, said: str
) -> None:
    result = replace(as_of(4, 4), temperature_basis=basis)
    other = replace(result, cohort="cups", temperature_basis=None)
    at = (
        f"Temperature to come in room: {said}. Temperature to come in cups: not known."
        if basis
        else "Temperature to come: not known."
    )
    assert notes([result, other]) == [
        "Solid: adults so far; dashed: what is expected, with a band for 90 % of outcomes, "
        f"if all live. As of 4 Apr. {at}"
    ]


def test_the_stroke_before_a_name_is_drawn_like_its_line() -> None:
    """The second cohort's own mark is dashed otherwise."""
    for result, style in ((as_of(4, 4), EXPECTED_DASH), (as_of(5, 1), "solid")):
        axes = forecast([result, result]).axes[0]
        strokes = [text.arrow_patch for text in axes.texts if isinstance(text, Annotation)]
        assert {stroke.get_linestyle() for stroke in strokes if stroke} == {style}


def test_nothing_can_be_foretold_before_anything_is_known() -> None:
    assert forecast([]).axes[0].texts[0].get_text().startswith("Nothing can be foretold")


def test_now_is_not_drawn_long_before_the_first_can_come() -> None:
    axes = forecast([as_of(3, 15)]).axes[0]
    assert "as-of" not in {line.get_gid() for line in axes.get_lines()}
    assert axes.get_xlim()[0] > datetime(2026, 3, 16).toordinal()


def test_the_axes_hold_all_days_and_all_animals() -> None:
    result = as_of(4, 4)
    axes = forecast([result]).axes[0]
    days = [each.date.toordinal() for each in result.emergence]
    low, high = axes.get_xlim()
    assert low <= min(days) < max(days) + 1 <= high < max(days) + 3
    most = max(each.high or 0 for each in result.emergence)
    assert axes.get_ylim() == (0, 1.06 * most)


def last_seen(month: int, day: int) -> Notebook:
    """The room as if nobody had looked after a day."""
    known = Notebook(ROOM).at(datetime(2026, month, day, 20, tzinfo=UTC)).log
    return Notebook(ROOM).with_log(known)


NOVEMBER = datetime(2026, 11, 26, 12, tzinfo=UTC)


def test_of_a_cohort_that_nobody_has_looked_at_for_months_a_sentence_is_drawn() -> None:
    result = last_seen(3, 27).forecast(as_of=NOVEMBER)
    assert (result.last_look, result.alive) == (date(2026, 3, 27), 18)  # counted in the raw file
    figure = forecast([result])
    (axes,) = figure.axes
    assert not axes.axison
    written = " ".join(" ".join(text.get_text() for text in axes.findobj(Text)).split())
    assert "room was last looked at on Friday 27 March 2026, when 18 were alive; all" in written
    assert title([result]) == "18 adults of room expected by 8 Apr, not on record yet"


def test_one_that_is_over_leaves_the_others_their_axis() -> None:
    over, young = last_seen(3, 27).forecast(as_of=NOVEMBER), replace(as_of(4, 4), cohort="young")
    figure = forecast([over, young])
    drawn = {line.get_gid() for line in figure.axes[0].get_lines()} - {None}
    assert {"expected-young"} <= drawn
    assert not any("room" in each for each in drawn)
    assert "room was last looked at on Friday 27 March 2026" in figure.get_supxlabel()
    assert "young 6 Apr" in title([over, young])


def test_a_cohort_that_is_late_but_looked_at_is_no_empty_axis_either() -> None:
    """Seen on 8 April with some still to come, asked of on the 20th."""
    result = last_seen(4, 7).forecast(as_of=datetime(2026, 4, 20, 12, tzinfo=UTC))
    assert result.is_over
    assert not forecast([result]).axes[0].axison


def test_a_line_whose_last_day_alone_is_expected_ends_dashed() -> None:
    """The name stands where the line ends, at what is expected by that day."""
    result = as_of(4, 4)
    known = [each for each in result.emergence if each.expected is None][-1]
    to_come = next(each for each in result.emergence if each.came is None)
    short = replace(result, emergence=(known, to_come))
    names = [
        text
        for text in forecast([short, short]).axes[0].texts
        if isinstance(text, Annotation) and text.arrow_patch is not None
    ]
    assert [text.arrow_patch.get_linestyle() for text in names if text.arrow_patch] == (
        [EXPECTED_DASH] * 2
    )


def test_an_axis_of_nobody_has_room_for_one() -> None:
    result = as_of(4, 4)
    none = tuple(replace(each, came=0) for each in result.emergence if each.expected is None)
    assert none
    assert forecast([replace(result, emergence=none)]).axes[0].get_ylim() == (0, 1.06)


@pytest.mark.parametrize(
    ("day", "side"), [(-1, None), (0, "left"), (4, "left"), (5, "right"), (7, "right"), (8, None)]
)
def test_now_is_drawn_within_the_axis_with_its_word_on_the_wider_side(
    day: int, side: str | None
) -> None:
    """So many days from the first of eight to the end of the day that it is; in the middle, after
    four, the word stands on the right."""
    result = as_of(4, 4)
    eight = result.emergence
    assert len(eight) == 8
    ends = eight[0].date + timedelta(days=day)
    (axes,) = forecast([replace(result, as_of=ends - timedelta(days=1))]).axes
    assert axes.get_xlim() == (eight[0].date.toordinal(), eight[0].date.toordinal() + 8)
    lines = [each for each in axes.get_lines() if each.get_gid() == "as-of"]
    words = [text for text in axes.texts if text.get_text() == "now"]
    assert len(lines) == len(words) == (side is not None)
    for line, word in zip(lines, words, strict=True):
        assert line.get_xdata()[0] == ends.toordinal()
        assert word.get_ha() == side
