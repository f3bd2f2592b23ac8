"""How panels share a figure, and what there is room to say above them."""

import pytest

from rearlog.charts.panels import (
    PanelGrid,
    grid,
    panel_label,
    panel_names,
    panels,
    usual_height,
    with_strip,
)
from rearlog.charts.style import PAGE, look, new_figure
from rearlog.records.wording import shortened_apart


@pytest.mark.parametrize(
    ("size", "count", "rows", "columns", "inner", "brief"),
    [
        ("page", 1, 1, 1, 49.5, False),
        ("page", 7, 7, 1, 49.5, False),
        ("page", 8, 4, 2, 21.5, False),
        ("page", 12, 6, 2, 21.5, False),
        ("page", 20, 7, 3, 14.667, True),
        ("phone", 7, 7, 1, 21.921, False),
        ("phone", 20, 10, 2, 10.211, True),
        ("slide", 2, 2, 1, 46.82, False),
        ("slide", 3, 2, 2, 20.16, False),
        ("slide", 7, 3, 3, 13.773, True),
        ("column", 12, 6, 2, 11.059, True),
    ],
)
def test_panels_stand_below_each_other_while_there_is_room(
    size: str, count: int, rows: int, columns: int, inner: float, brief: bool
) -> None:
    """A page is 56 letters wide and 81.6 high: seven rows of 11.66 have the 11 that a panel needs,
    eight of 10.2 have not, but two columns of 28, more than 20. Of twenty 7 rows of 3 are best,
    with 18.67/20 of the width and √(20/21) for the place left over: 0.91, where 10 rows of 2 have
    8.16/11 = 0.74 of the height and 5 of 4 have 14/20. What stands beside takes 6.5, and 4 where a
    panel is narrower than 22."""
    own = look(size)
    found = grid(own, count, 0.0)
    assert (found.rows, found.columns, found.brief) == (rows, columns, brief)
    assert found.inner_in / own.em_in == pytest.approx(inner, abs=0.001)


def test_words_take_of_the_height() -> None:
    """77.1 letters are seven rows of 11.01; of fewer than 77 there are two columns."""
    for left, columns in ((77.1, 1), (76.9, 2)):
        assert grid(PAGE, 7, PAGE.tallest_in - left * PAGE.em_in).columns == columns


def test_rows_of_panels_are_as_high_as_the_largest_of_them() -> None:
    of_five = PanelGrid(3, 2, 1.0)
    assert of_five.heights([3, 5, 0, 0, 7]) == [5, 1, 7]
    assert [of_five.lowest(place, 5) for place in range(5)] == [False, False, False, True, True]


@pytest.mark.parametrize(("count", "times"), [(1, 1.0), (2, 1.24), (3, 1.86)])
def test_several_panels_are_higher_together(count: int, times: float) -> None:
    assert usual_height(PAGE, count) == pytest.approx(times * 4.6)


@pytest.mark.parametrize("columns", [1, 2])
def test_panels_fill_their_rows_with_a_strip_below(columns: int) -> None:
    """Three, in inches of height; those in columns stand nearer to each other."""
    figure = new_figure(PAGE)
    rows = 3 if columns == 1 else 2
    every, strip = panels(figure, PAGE, PanelGrid(rows, columns, 1.0), 3, [1.0] * rows, 0.5)
    assert strip is not None
    places = [each.get_subplotspec() for each in [*every, strip]]
    spans = [(each.rowspan.start, each.colspan.start, each.colspan.stop) for each in places if each]
    if columns == 1:
        assert spans == [(0, 0, 1), (1, 0, 1), (2, 0, 1), (3, 0, 1)]
    else:
        assert spans == [(0, 0, 1), (0, 1, 2), (1, 0, 1), (2, 0, 2)]
    layout = strip.get_gridspec()
    assert layout is not None
    assert layout.get_height_ratios() == [1.0] * rows + [0.5]
    pads = figure.get_layout_engine().get()  # type: ignore[union-attr]
    assert pads["w_pad"] == (PAGE.em_in if columns == 1 else 0.04)
    assert panels(new_figure(PAGE), PAGE, PanelGrid(1, 1, 1.0), 1, [1.0])[1] is None


def test_a_strip_is_there_where_something_stands_in_it() -> None:
    axes, strip = with_strip(new_figure(PAGE), PAGE, 2.0, 0.5)
    assert strip is not None
    assert axes.get_gridspec().get_height_ratios() == [2.0, 0.5]  # type: ignore[union-attr]
    axes, strip = with_strip(new_figure(PAGE), PAGE, 2.0, 0.0)
    assert strip is None
    assert axes.get_gridspec().get_height_ratios() == [2.0]  # type: ignore[union-attr]


LETTER_IN = 0.57 * PAGE.small_pt / 72
"""How wide a letter above a panel is."""


@pytest.mark.parametrize(
    ("room", "told"),
    [
        (30, "shelf, test moth, n = 5, 20 °C"),
        (29, "shelf, n = 5, 20 °C"),
        (19, "shelf, n = 5, 20 °C"),
        (18, "shelf, 20 °C"),
        (3, "shelf, 20 °C"),
    ],
)
def test_the_first_are_left_out_where_not_all_has_room_above_a_panel(room: int, told: str) -> None:
    axes = new_figure(PAGE).subplots()
    own = PanelGrid(1, 1, 1.0001 * room * LETTER_IN)
    panel_label(axes, PAGE, "shelf", ["test moth", "n = 5", "20 °C"], own)
    assert axes.get_title(loc="left") == told


@pytest.mark.parametrize(("room", "longest"), [(40, 31), (20, 11), (9, 6)])
def test_names_leave_room_for_a_temperature(room: int, longest: int) -> None:
    """“, 18.0 °C” has nine letters; a name has six in any case."""
    names = [f"the caterpillars on the shelf by the window {n}" for n in range(2)]
    shown = panel_names(names, PAGE, PanelGrid(1, 1, 1.0001 * room * LETTER_IN))
    assert shown == shortened_apart(names, longest)
    assert {len(each) for each in shown} == {longest}
