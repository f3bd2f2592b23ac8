"""Axes that somebody gave: what a chart takes of them, and what it leaves alone."""

from typing import Any

import matplotlib
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from rearlog.charts.durations import durations
from rearlog.charts.keys import at_ends, draw_key, draw_swatches, key, swatch_key
from rearlog.charts.lanes import room_for_lanes
from rearlog.charts.palette import HATCHING, MUTED, cohort_mark
from rearlog.charts.panels import given, grid
from rearlog.charts.progress import progress
from rearlog.charts.style import PAGE, around, dress, frame, look_onto, new_figure, said
from rearlog.charts.survival import survival
from rearlog.records.errors import UsageError
from tests.charts.conftest import Answers


@pytest.fixture
def axes() -> list[Axes]:
    """Two of 3 × 2 in, one above the other, 1 in apart, in a figure of 100 dots an inch."""
    figure = Figure(figsize=(5, 6), dpi=100)
    return [
        figure.add_axes((0.2, bottom / 6, 0.6, 2 / 6))  # type: ignore[list-item]
        for bottom in (3.5, 0.5)
    ]


def test_the_look_is_as_large_as_the_axes_with_what_may_stand_around_them(axes: list[Axes]) -> None:
    with matplotlib.rc_context({"font.size": 9.0, "lines.linewidth": 3.0}):
        one, both = look_onto(axes[:1]), look_onto(axes)
    assert one.width_in == pytest.approx(3 + 8 * 9 / 72)
    assert one.height_in == one.tallest_in == pytest.approx(2 + 1.0)
    assert (both.width_in, both.height_in) == (one.width_in, pytest.approx(5 + 1.0))
    assert (one.text_pt, one.line_pt) == (9.0, 2.0)
    assert one.least_pt == pytest.approx(5.4)
    assert one.bare
    assert both.onto == tuple(axes)


def test_the_figure_is_that_of_the_axes_even_in_a_part_of_it(axes: list[Axes]) -> None:
    figure = Figure()
    part: Any = figure.subfigures(1, 2)
    inside = part[1].subplots()
    assert new_figure(look_onto([inside])) is figure
    assert new_figure(look_onto(axes)) is axes[0].figure
    assert new_figure(PAGE) is not figure


def test_a_chart_has_as_many_panels_as_axes_are_given(axes: list[Axes]) -> None:
    look = look_onto(axes)
    assert given(look, 2) == given(look, 1, 2) == tuple(axes)
    with pytest.raises(UsageError, match="has 1 panel, and 2 axes were given"):
        given(look, 1)
    with pytest.raises(UsageError, match="has 3 panels, and 2 axes were given"):
        given(look, 3)
    with pytest.raises(UsageError, match="has 3 to 4 panels, and 2"):
        given(look, 3, 4)
    assert (grid(look, 2).rows, grid(look, 2).columns) == (1, 2)


def test_no_words_stand_around_but_that_data_are_invented(axes: list[Axes]) -> None:
    look = look_onto(axes)
    for invented, told in ((False, ""), (True, "invented data")):
        frame(new_figure(look), look, around(look, "A finding", ["a note"], invented=invented))
        assert axes[0].get_title(loc="right") == told
    assert axes[1].get_title(loc="right") == ""
    figure = new_figure(look)
    assert (figure.get_suptitle(), figure.get_supxlabel(), figure.get_label()) == ("", "", "")


def test_where_nothing_can_be_drawn_the_axes_say_so(axes: list[Axes]) -> None:
    figure = said(look_onto(axes), "A finding", "Nobody was looked at yet.", invented=True)
    assert figure is axes[0].figure
    assert [each.get_text() for each in axes[0].texts] == ["Nobody was looked at yet."]
    assert not axes[0].axison
    assert not axes[1].axison
    assert not axes[1].texts


def test_a_label_that_is_given_later_stands_beside_the_numbers(axes: list[Axes]) -> None:
    dress(axes[0], look_onto(axes[:1]))
    axes[0].set_ylabel("of mine")
    axes[0].figure.draw_without_rendering()  # type: ignore[union-attr]
    label = axes[0].yaxis.label.get_window_extent()
    numbers = min(each.get_window_extent().x0 for each in axes[0].get_yticklabels())
    assert label.x1 <= numbers


def test_cohorts_are_named_in_a_legend_with_their_marks(axes: list[Axes]) -> None:
    look = look_onto(axes[:1])
    assert not at_ends(look, ["a", "b"])
    assert at_ends(PAGE, ["a", "b"])
    draw_key(axes[0], look, key(look, ["a", "b"]), [cohort_mark(3), cohort_mark(1)], lines=False)
    legend = axes[0].get_legend()
    assert legend is not None
    assert [each.get_text() for each in legend.get_texts()] == ["a", "b"]
    assert not legend.get_frame_on()
    drawn = legend.get_lines()
    assert [each.get_marker() for each in drawn] == [cohort_mark(3).marker, cohort_mark(1).marker]
    assert {each.get_linestyle() for each in drawn} == {"None"}
    draw_key(axes[0], look, key(look, ["a", "b"]), markers=False)
    legend = axes[0].get_legend()
    assert legend is not None
    assert [each.get_marker() for each in legend.get_lines()] == ["none", "none"]
    assert [each.get_color() for each in legend.get_lines()] == [
        cohort_mark(0).colour,
        cohort_mark(1).colour,
    ]
    assert axes[0].axison


def test_stages_are_named_beside_the_axes(axes: list[Axes]) -> None:
    look = look_onto(axes[:1])
    shown = swatch_key(look, ["egg", "dead"])
    draw_swatches(axes[0], look, shown, {"egg": "#ffffff", "dead": "#888888"}, {"dead": "xx"})
    legend = axes[0].get_legend()
    assert legend is not None
    egg, dead = legend.get_patches()
    assert egg.get_facecolor()[:3] == (1.0, 1.0, 1.0)
    assert (egg.get_hatch(), dead.get_hatch()) == (None, "xx")
    assert [to_hex(each.get_edgecolor()) for each in (egg, dead)] == [MUTED, HATCHING]
    axes[0].figure.draw_without_rendering()  # type: ignore[union-attr]
    assert legend.get_window_extent().x0 >= axes[0].get_window_extent().x1
    assert axes[0].axison


def test_nothing_expected_is_drawn_above_the_axes(axes: list[Axes], room: Answers) -> None:
    look = look_onto(axes[:1])
    assert room_for_lanes(PAGE, (), 300.0)
    assert not room_for_lanes(look, (), 300.0)
    progress([room.progress], look)
    assert not [each for each in axes[0].findobj() if "expected-" in str(each.get_gid())]


def test_what_was_drawn_is_what_a_figure_of_its_own_has(axes: list[Axes], room: Answers) -> None:
    def parts(of: Any) -> set[str]:
        return {str(each.get_gid()) for each in of.findobj() if each.get_gid()}

    durations([room.durations], look_onto(axes[:1]))
    assert parts(axes[0]) == parts(durations([room.durations]))
    axes[0].clear()
    survival([room.survival], look_onto(axes))
    assert parts(axes[0]) == parts(survival([room.survival]).axes[0])
    assert axes[1].get_title(loc="left") == "Number at risk"
    assert axes[1].get_xlim() == axes[0].get_xlim()
