"""The chart of mortality against temperature: cohorts, curve, band and best temperature."""

import pytest
from matplotlib.collections import PolyCollection
from msgspec.structs import replace

from rearlog.charts.mortality import mortality
from rearlog.charts.palette import INK, PAPER, cohort_mark
from rearlog.records.errors import UsageError
from rearlog.sentences.heat_mortality import alt_text, nothing_to_draw, title
from tests.charts.conftest import line_of, parts, words
from tests.charts.small_results import DIED, died_of


def test_cohorts_stand_at_their_temperature_with_the_part_that_died() -> None:
    figure = mortality(died_of(DIED))
    for place, (celsius, (died, n)) in enumerate(DIED.items()):
        mark = line_of(figure, f"cohort-t{celsius:g}")
        assert list(mark.get_xdata()) == [celsius]
        assert list(mark.get_ydata()) == [died / n]
        assert mark.get_marker() == cohort_mark(place).marker
        assert mark.get_markerfacecolor() == cohort_mark(place).colour
        assert f"t{celsius:g}, {died}/{n}" in words(figure)
    axes = figure.axes[0]
    assert axes.get_ylim() == (0.0, 1.0)
    assert axes.get_xlim() == (13.5, 34.5)
    assert axes.get_title(loc="left") == "Died, egg to adult"


def test_the_curve_runs_from_the_coldest_to_the_hottest_within_its_band() -> None:
    told = died_of(DIED)
    curve = told.mortality[0].curve
    assert curve is not None
    figure = mortality(told)
    line = line_of(figure, "curve")
    x, y = line.get_xdata(), line.get_ydata()
    assert (x[0], x[-1]) == (15.0, 33.0)
    assert list(y) == pytest.approx(list(curve.mortality(x)))
    assert line.get_color() == INK
    band = parts(figure)["band"]
    assert isinstance(band, PolyCollection)
    ends = [float(side[0]) for side in curve.band([15.0])]
    corners = band.get_paths()[0].vertices
    at_first = corners[corners[:, 0] == 15.0][:, 1]
    assert (at_first.min(), at_first.max()) == pytest.approx(tuple(ends))


def test_a_triangle_marks_the_best_temperature_where_there_is_one() -> None:
    told = died_of(DIED)
    curve = told.mortality[0].curve
    assert curve is not None
    figure = mortality(told)
    best = line_of(figure, "best")
    assert list(best.get_xdata()) == [curve.best]
    assert list(best.get_ydata()) == [curve.least]
    assert "Triangle: the least mortality and its 95 % limits" in words(figure)
    rising = mortality(died_of({15.0: (2, 40), 20.0: (6, 40), 25.0: (14, 40), 30.0: (24, 40)}))
    assert "best" not in parts(rising)
    assert "Triangle" not in words(rising)


def test_a_cohort_left_out_is_hollow() -> None:
    told = died_of(DIED)
    (one,) = told.mortality
    points = (replace(one.points[0], used=False), *one.points[1:])
    figure = mortality(replace(told, mortality=(replace(one, points=points),)))
    assert line_of(figure, "cohort-t15").get_markerfacecolor() == PAPER
    assert "Hollow: left out, t15" in words(figure)


def test_without_a_curve_the_points_stand_alone() -> None:
    told = died_of({15.0: (0, 9), 20.0: (0, 9), 25.0: (0, 9)})
    figure = mortality(told)
    assert "curve" not in parts(figure)
    assert title(told.mortality[0]) == "Egg to adult: no curve of the mortality, nobody died"
    assert "Line: " not in words(figure)


def test_titles_say_what_was_found() -> None:
    shaped = title(died_of(DIED).mortality[0])
    assert shaped == "Egg to adult: mortality is least at 22.6 °C, 15 %"
    flat = died_of({15.0: (5, 20), 20.0: (4, 20), 25.0: (4, 20), 30.0: (5, 20)})
    assert title(flat.mortality[0]) == (
        "Egg to adult: no dependence of mortality on temperature shown"
    )
    assert alt_text(flat) == (
        "Chart of mortality against temperature in t15, t20, t25, t30. Egg to adult: no dependence "
        "of mortality on temperature shown."
    )


def test_the_stage_is_chosen_by_name_and_may_not_be_there() -> None:
    told = died_of(DIED)
    both = replace(told, mortality=(replace(told.mortality[0], stage="L1"), *told.mortality))
    assert mortality(both, stage="L1").axes[0].get_title(loc="left") == "Died, L1"
    assert mortality(both).axes[0].get_title(loc="left") == "Died, egg to adult"
    with pytest.raises(UsageError, match="no mortality of “L9”"):
        mortality(both, stage="L9")
    nothing = mortality(replace(told, mortality=()))
    assert " ".join(nothing_to_draw().split()) in " ".join(words(nothing).split())
    assert "No mortality by temperature yet" in words(nothing)
