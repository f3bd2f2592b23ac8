"""The survival chart: the curve as estimated, its band, and the number at risk beneath."""

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_leukemia
from matplotlib.collections import PolyCollection
from matplotlib.lines import Line2D
from msgspec.structs import replace
from statsmodels.stats.proportion import proportion_confint

from rearlog.analysis.statistics.kaplan_meier import kaplan_meier
from rearlog.charts.style import look
from rearlog.charts.survival import at_risk, survival
from rearlog.sentences.survival import NO_TABLE, alt_text, title
from tests.charts.conftest import LIVES, Answers, parts, small_cohort, texts, words


def test_the_number_at_risk_is_that_of_the_published_table() -> None:
    # 6-mercaptopurine remission times (Freireich 1963), as they ship with lifelines: of 21, 17
    # were still followed at week 7, 12 at 13, 7 at 22 (Kleinbaum & Klein, ch. 2: published)
    data = load_leukemia()
    treated = data[data.Rx == 0]
    rows = kaplan_meier(treated.t, treated.status).rows
    assert [at_risk(rows, week) for week in (0, 7, 13, 22)] == [21, 17, 12, 7]
    assert at_risk(rows, 36) == 0


def test_the_curve_is_the_estimate_of_lifelines(room: Answers) -> None:
    # the five individuals by hand: ages at the end, and whether it was death
    fitted = KaplanMeierFitter().fit([13, 5, 5, 13, 1], [0, 1, 0, 0, 1])
    line = parts(survival([room.survival]))["survival-room"]
    assert isinstance(line, Line2D)
    assert line.get_drawstyle() == "steps-post"
    for day, alive in zip(line.get_xdata(), line.get_ydata(), strict=True):
        if day > 0:
            assert alive == pytest.approx(fitted.predict(day))


def test_the_band_holds_the_curve(room: Answers) -> None:
    figure = survival([room.survival])
    band = parts(figure)["band-room"]
    assert isinstance(band, PolyCollection)
    heights = band.get_paths()[0].vertices[:, 1]
    rows = room.survival.kaplan_meier
    assert heights.min() == pytest.approx(min(row.low for row in rows))
    assert heights.max() == pytest.approx(max(row.high for row in rows))


def test_all_of_six_alive_has_a_band_that_leaves_room_for_others() -> None:
    lives = {str(n): "egg L1 L2 pupa adult" for n in range(6)}
    band = parts(survival([small_cohort("six", lives).survival]))["band-six"]
    assert isinstance(band, PolyCollection)
    heights = band.get_paths()[0].vertices[:, 1]
    lowest = proportion_confint(6, 6, method="wilson")[0]  # statsmodels: 61 %
    assert (heights.min(), heights.max()) == pytest.approx((lowest, 1))


def test_the_thin_line_falls_between_the_looks_around_a_death() -> None:
    cohort = small_cohort("two", {"1": "egg egg - - dead", "2": "egg egg egg egg egg"})
    line = parts(survival([cohort.survival]))["between-looks-two"]
    assert isinstance(line, Line2D)
    assert [*zip(line.get_xdata(), line.get_ydata(), strict=True)] == [
        *((0, 1), (1, 1), (4, 0.5), (4, 0.5))
    ]


def test_strokes_stand_where_individuals_were_last_seen_alive(room: Answers) -> None:
    strokes = parts(survival([room.survival]))["censored-room"]
    assert isinstance(strokes, Line2D)
    assert strokes.get_marker() == "|"
    assert strokes.get_xdata().tolist() == [5, 13]  # 3 was lost after day 5


def test_without_losses_there_are_no_strokes_and_the_curve_ends_at_zero() -> None:
    figure = survival([small_cohort("dead", {"1": "egg dead", "2": "egg egg dead"}).survival])
    drawn = parts(figure)
    assert "censored-dead" not in drawn
    line = drawn["survival-dead"]
    assert isinstance(line, Line2D)
    assert line.get_ydata()[-1] == 0
    figure.draw_without_rendering()
    curves, table = (axes.get_position().height for axes in figure.axes)
    assert curves > 2 * table


def test_the_table_stands_under_its_days(room: Answers, shelf: Answers) -> None:
    figure = survival([room.survival, shelf.survival])
    table = figure.axes[1]
    numbers = [text for text in texts(figure) if text.axes is table and text.get_text().isdigit()]
    for day, expected in ((0, ["5", "3"]), (2, ["4", "3"]), (6, ["2", "3"])):
        column = [text.get_text() for text in numbers if text.xy[0] == day]  # type: ignore[attr-defined]
        assert column == expected
    assert [label.get_text() for label in table.get_yticklabels()] == ["room", "shelf"]


def test_the_title_counts_losses_as_long_as_they_were_watched(
    room: Answers, shelf: Answers
) -> None:
    # by hand: 5 died on day 1, 2 on day 5, and 3 was last seen then: 4/5 × 3/4; 1 and 4 reached it
    finding = title([room.survival])
    assert finding == (
        "60 % reached adulthood: 2 did, 2 died and 1 was lost or taken out on the way"
    )
    assert title([room.survival, shelf.survival]) == "Reached adulthood: room 60 %, shelf 100 %"
    assert finding in alt_text([room.survival])


def test_before_anyone_is_adult_the_title_counts_the_dead() -> None:
    young = small_cohort("young", {"1": "egg dead", "2": "egg egg", "3": "egg egg"}).survival
    assert title([young]) == "1 of 3 died"
    assert title([young, young]) == "Died: young 1 of 3, young 1 of 3"


def test_cohorts_differ_in_dash_as_in_colour(room: Answers, shelf: Answers) -> None:
    figure = survival([room.survival, shelf.survival])
    one, other = (parts(figure)[f"survival-{name}"] for name in ("room", "shelf"))
    assert isinstance(one, Line2D)
    assert isinstance(other, Line2D)
    assert one.get_color() != other.get_color()
    assert one.is_dashed() != other.is_dashed()
    assert {"room", "shelf"} <= set(words(figure).splitlines())
    assert np.isclose(figure.axes[0].get_ylim()[0], 0)


def test_where_the_table_has_no_room_the_chart_says_so() -> None:
    cohorts = [small_cohort(f"c{n}", LIVES).survival for n in range(6)]
    low = look("slide", large_text=True)
    assert NO_TABLE in words(survival(cohorts, low))
    assert NO_TABLE not in words(survival(cohorts, look("page")))


def test_groups_of_a_sex_say_that_it_shows_in_the_last_stages_alone(room: Answers) -> None:
    told = "A sex is known of those alone that lived to show it"
    females = replace(room.survival, level="f")
    assert told in words(survival([females, replace(room.survival, level=None)]))
    assert told not in words(survival([replace(room.survival, level="kale")]))


def test_at_most_eight_steps_are_told_of_the_age(shelf: Answers) -> None:
    """Nine days take steps of two."""
    ticks = survival([shelf.survival]).axes[0].get_xticks()
    assert [day for day in ticks if day <= 9] == [0, 2, 4, 6, 8]


def test_strokes_of_curves_stand_left_of_their_rows(room: Answers) -> None:
    """From 3.3 to 1.3 small letters before the table, where names do not stand at the curves."""
    cohorts = [replace(room.survival, cohort=f"c{n}") for n in range(6)]
    figure = survival(cohorts)
    figure.draw_without_rendering()
    table = figure.axes[1]
    strokes = [each for each in table.lines if len(each.get_xdata()) == 3]
    assert len(strokes) == 6
    for row, stroke in enumerate(strokes):
        x, y = stroke.get_transform().transform(stroke.get_xydata()).T
        letters = (x - table.bbox.x0) / figure.dpi * 72 / look("page").small_pt
        assert letters == pytest.approx([-3.3, -2.3, -1.3])
        assert y == pytest.approx([table.transData.transform((0, row))[1]] * 3)
