"""The growth chart: widths on the line of a constant ratio, measures by age."""

from math import log

import pytest
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D
from msgspec.structs import replace

from rearlog.charts.growth import growth
from rearlog.charts.palette import COHORTS
from rearlog.records.log import CohortLog
from rearlog.records.profile import Quantity
from rearlog.sentences.growth import alt_text, title
from tests.builders import seen, small_profile, tiny_log
from tests.charts.conftest import parts, words
from tests.charts.small_results import WIDTHS, grown, measured


def test_widths_of_a_constant_ratio_lie_on_the_line() -> None:
    # 0.5, 0.75, 1.125 mm: made with the ratio 1.5, so the line must go through all of them
    drawn = parts(growth([measured()]))
    line, marks = drawn["dyar-room"], drawn["widths-room"]
    assert isinstance(line, Line2D)
    assert isinstance(marks, Line2D)
    (x0, x1), (y0, y1) = line.get_data()
    slope = (log(y1) - log(y0)) / (x1 - x0)
    assert slope == pytest.approx(log(1.5))
    for x, y in zip(*marks.get_data(), strict=True):
        assert log(y) == pytest.approx(log(y0) + slope * (x - x0))
    finding = "From instar to instar the head grows 1.50 ± 0.00 times as wide (n = 6)"
    assert title([measured()]) == finding
    assert words(growth([measured()])).count("n = 2") == 3


def test_the_bars_are_the_spread_between_individuals() -> None:
    """Widths of 0.4, 0.5 and 0.6 mm: the SD is 0.1 (the error of their mean would be 0.058)."""
    result = measured()
    first, *others = result.instars
    wide = replace(first, head_width_mm_mean=0.5, sd=0.1, n=3)
    figure = growth([replace(result, instars=(wide, *others))])
    bars = [each for each in figure.axes[0].collections if isinstance(each, LineCollection)]
    ends = [segment[:, 1].tolist() for each in bars for segment in each.get_segments()]
    assert [0.4, 0.6] in [[pytest.approx(low), pytest.approx(high)] for low, high in ends]


def test_two_instars_make_no_rule() -> None:
    lives = {"1": "L1 L1 L2"}
    log_ = tiny_log(lives, profile=small_profile())
    checks = tuple(
        replace(each, head_width_mm=WIDTHS[each.stage or ""]) for each in log_.all_observations
    )
    result = grown(CohortLog(log_.cohort, log_.individuals, checks))
    assert title([result]) == (
        "From L1 to L2 the head grew 1.50 times as wide at each molt (n = 2)"
    )
    figure = growth([result])
    assert "fewer than three instars" in words(figure)
    low, high = figure.axes[0].get_ylim()
    assert high / low >= 4


def test_instars_stand_in_order_under_their_names() -> None:
    axes = growth([measured()]).axes[0]
    assert [label.get_text() for label in axes.get_xticklabels()] == ["L1", "L2", "L3"]
    assert axes.get_yscale() == "log"
    assert axes.get_title(loc="left") == "Head width (mm)"


def test_the_profile_is_shown_beside_the_animals() -> None:
    result = measured()
    instars = tuple(replace(each, expected=0.6) for each in result.instars)
    figure = growth([replace(result, instars=instars)])
    stroke = parts(figure)["expected-L2"]
    assert isinstance(stroke, LineCollection)
    ((left, right),) = (segment[:, 0] for segment in stroke.get_segments())
    assert (left, right) == pytest.approx((2 - 0.28, 2 + 0.28))
    assert stroke.get_segments()[0][0, 1] == 0.6
    assert "profile" in words(figure)


def test_lengths_and_masses_run_by_age_one_line_an_individual() -> None:
    drawn = parts(growth([measured()]))
    length, mass = drawn["of-length_mm-0/2"], drawn["of-mass_mg-0/1"]
    assert isinstance(length, Line2D)
    assert isinstance(mass, Line2D)
    assert length.get_xydata().tolist() == [[1, 2], [2, 4], [3, 6], [4, 8]]
    assert mass.get_ydata().tolist() == [2, 4, 8, 16]
    assert "of-mass_mg-0/2" not in drawn  # nobody weighed it


def test_only_what_was_measured_has_a_panel() -> None:
    assert len(growth([measured()]).axes) == 3
    result = measured(ratio=False)
    figure = growth([result])
    assert len(figure.axes) == 2
    assert title([result]) == "Mass grew: room 8-fold"
    only_length = replace(
        result, mass_fold=None, series=tuple(replace(e, mass_mg=None) for e in result.series)
    )
    assert title([only_length]) == "Too few measures to say how fast they grew: room 8 looks"


def test_several_cohorts_are_named_by_their_marks() -> None:
    figure = growth([measured("room"), measured("shelf")])
    assert {"room", "shelf"} <= set(words(figure).splitlines())
    samples = [line for line in figure.axes[-1].get_lines() if line.get_visible()]
    assert [each.get_marker() for each in samples] == [mark.marker for mark in COHORTS[:2]]
    finding = title([measured("room"), measured("shelf")])
    assert finding == "Growth of the head from instar to instar: room 1.50, shelf 1.50 times"


def test_why_there_is_no_line() -> None:
    lives = tiny_log({"1": "L1"})
    check = replace(seen("1", 1, "L1"), head_width_mm=0.5)
    result = grown(CohortLog(lives.cohort, lives.individuals, (check,)))
    figure = growth([result])
    assert "dyar-tiny" not in parts(figure)
    assert "No line for tiny: widths of at least two instars are needed" in words(figure)


def test_nothing_measured_is_said() -> None:
    result = grown(tiny_log({"1": "egg L1"}))
    assert "Nothing was measured yet." in words(growth([result]))
    assert "Nothing was measured in tiny" in alt_text([result])


def test_the_profile_gives_the_expected_widths() -> None:
    profile = small_profile()
    stages = tuple(
        replace(each, head_width_mm=Quantity("test", value=0.55)) if each.code == "L1" else each
        for each in profile.stages
    )
    log_ = tiny_log({"1": "L1"}, profile=replace(profile, stages=stages))
    check = replace(seen("1", 1, "L1"), head_width_mm=0.5)
    log = CohortLog(log_.cohort, log_.individuals, (check,))
    figure = growth([grown(log)])
    assert "expected-L1" in parts(figure)


def test_the_line_reaches_from_the_first_instar_to_the_last() -> None:
    line = parts(growth([measured()]))["dyar-room"]
    assert isinstance(line, Line2D)
    assert list(line.get_xdata()) == pytest.approx([1 - 0.4, 3 + 0.4])
    axes = growth([measured()]).axes[0]
    assert axes.get_xlim() == pytest.approx((1 - 0.6, 3 + 1.3))  # and room for n
    assert [label.get_text() for label in axes.get_xticklabels()] == ["L1", "L2", "L3"]


@pytest.mark.parametrize(("cohorts", "apart"), [(2, 0.12), (6, 0.5 / 6)])
def test_marks_of_several_cohorts_stand_beside_each_other(cohorts: int, apart: float) -> None:
    """Around the instar, those of many cohorts within half of the way to the next."""
    drawn = parts(growth([measured(f"c{n}") for n in range(cohorts)]))
    marks = [drawn[f"widths-c{n}"] for n in range(cohorts)]
    at = [mark.get_xdata()[0] for mark in marks if isinstance(mark, Line2D)]
    first = 1 - apart * (cohorts - 1) / 2
    assert at == pytest.approx([first + apart * n for n in range(cohorts)])
