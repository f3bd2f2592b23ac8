"""Keys: where names are told, in how many columns, and where each stands."""

import pytest
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.text import Annotation
from msgspec.structs import replace

from rearlog.charts.keys import (
    Key,
    LineEnd,
    apart,
    at_ends,
    draw_key,
    draw_swatches,
    key,
    label_ends,
    swatch_key,
)
from rearlog.charts.palette import HATCHING, MUTED, cohort_mark, text_on
from rearlog.charts.style import PAGE, new_figure

SMALL = 0.86 * 9
"""The size of names on a page, in points."""


@pytest.mark.parametrize(
    ("count", "letters", "beside"), [(4, 15, True), (5, 15, False), (4, 16, False), (1, 1, True)]
)
def test_up_to_four_names_of_a_fifth_of_the_width_stand_at_the_ends_of_lines(
    count: int, letters: int, beside: bool
) -> None:
    """A fifth of 56 letters is 11.2, of which a stroke takes 2.6: 8.6 are 15 of 0.57."""
    assert at_ends(PAGE, ["x" * letters, *["x"] * (count - 1)]) == beside


@pytest.mark.parametrize(
    ("heights", "shown"),
    [
        ([0.2], [0.2]),
        ([1.2], [1.0]),
        ([0.0, 0.1, 0.2], [0.0, 0.4, 0.8]),
        ([0.0, 0.5, 0.7], [0.0, 0.5, 0.9]),
        ([0.8, 0.9], [0.6, 1.0]),
        ([0.1, 0.9, 1.0, 1.0], [-0.2, 0.2, 0.6, 1.0]),
    ],
)
def test_heights_are_moved_up_and_back_below_the_top(
    heights: list[float], shown: list[float]
) -> None:
    assert apart(heights, 0.4, 1.0) == pytest.approx(shown)


@pytest.mark.parametrize("top", [1.0, 10.0])
def test_names_at_the_ends_of_lines_stand_a_line_of_letters_apart(top: float) -> None:
    """A line is 1.2 × 9 pt of axes that are 2 in high; what would stand in another is moved up."""
    axes = new_figure(PAGE).subplots()
    axes.set_ylim(0.0, top)
    ends = [LineEnd(y * top, name, cohort_mark(0)) for y, name in ((0.5, "b"), (0.5, "a"))]
    label_ends(axes, [*ends, LineEnd(0.1 * top, "c", cohort_mark(1))], PAGE, 2.0)
    named = {text.get_text(): text.xy for text in axes.texts if isinstance(text, Annotation)}
    line = 1.2 * 9 / 144 * top
    assert list(named) == ["c", "b", "a"]
    assert [y for _, y in named.values()] == pytest.approx([0.1 * top, 0.5 * top, 0.5 * top + line])
    assert {x for x, _ in named.values()} == {1.0}


@pytest.mark.parametrize(
    ("count", "columns", "rows"), [(1, 1, 1), (5, 5, 1), (6, 3, 2), (7, 4, 2), (11, 4, 3)]
)
def test_a_key_has_as_few_rows_as_the_width_allows(count: int, columns: int, rows: int) -> None:
    """Of names of ten letters, each with a stroke of 3.2 and 1.2 between: 4.4 × 9 + 5.7 × 7.74 =
    83.7 pt, of which 504 − 18 hold five; of the rows that these make, as few columns as fill them.
    A row is 1.35 letters high."""
    names = ["x" * 10, *["x"] * (count - 1)]
    found = key(PAGE, names)
    assert (found.names, found.rows) == (tuple(names), rows)
    assert found.column_in * 72 == pytest.approx(4.4 * 9 + 5.7 * SMALL)
    assert found.height_in * 72 == pytest.approx(rows * 1.35 * SMALL)
    axes = new_figure(PAGE).subplots()
    draw_key(axes, PAGE, found)
    texts = [text for text in axes.texts if isinstance(text, Annotation)]
    assert [text.get_text() for text in texts] == names
    assert len({text.xy[0] for text in texts}) == columns
    for place, (text, line) in enumerate(zip(texts, axes.lines, strict=True)):
        left = 9 + place // rows * (4.4 * 9 + 5.7 * SMALL)
        height = 1 - (place % rows + 0.5) / rows
        assert [72 * text.xy[0], text.xy[1]] == pytest.approx([left + 3.7 * 9, height])
        assert [72 * x for x in line.get_xdata()] == pytest.approx([left, left + 14.4, left + 28.8])
        assert list(line.get_ydata()) == pytest.approx([height] * 3)
        assert line.get_marker() == cohort_mark(place).marker
        assert not text.get_in_layout()
        assert not line.get_in_layout()
    assert not axes.axison
    assert not axes.get_navigate()


def test_a_key_of_no_names_takes_no_height_and_a_long_name_a_row_of_its_own() -> None:
    assert key(PAGE, []).height_in == 0
    assert key(PAGE, ["x" * 200, "x"]).rows == 2
    narrow = replace(PAGE, width_in=1.0)
    assert key(narrow, ["a", "b", "c"]).rows == 3


def test_a_key_shows_the_marks_that_it_is_told() -> None:
    axes = new_figure(PAGE).subplots()
    shown = key(PAGE, ["a", "b"])
    draw_key(axes, PAGE, shown, [cohort_mark(4), cohort_mark(2)], lines=False)
    assert [line.get_marker() for line in axes.lines] == ["v", "^"]
    assert {line.get_linestyle() for line in axes.lines} == {"None"}
    axes = new_figure(PAGE).subplots()
    draw_key(axes, PAGE, shown, markers=False)
    assert {line.get_marker() for line in axes.lines} == {"none"}
    assert [line.get_color() for line in axes.lines] == [cohort_mark(n).colour for n in range(2)]
    assert all(isinstance(line, Line2D) and line.get_linestyle() != "None" for line in axes.lines)
    draw_key(None, PAGE, Key((), 0, 0.0, 0.0))
    draw_swatches(None, PAGE, Key((), 0, 0.0, 0.0), {})


@pytest.mark.parametrize(("count", "columns", "rows"), [(6, 6, 1), (8, 8, 1), (11, 6, 2)])
def test_swatches_are_read_along_their_rows(count: int, columns: int, rows: int) -> None:
    """A field of ten letters takes 6.6 × 7.74 + 1.1 × 7.74 = 59.6 pt, of which 486 hold eight; a
    row is 1.6 letters high."""
    names = ["x" * 10, *(f"{n}" for n in range(1, count))]
    found = swatch_key(PAGE, names)
    assert found.rows == rows
    assert found.column_in * 72 == pytest.approx(7.7 * SMALL)
    assert found.height_in * 72 == pytest.approx(rows * 1.6 * SMALL)
    axes = new_figure(PAGE).subplots()
    colours = dict.fromkeys(names, "#222222") | {"2": "#ffffff"}
    draw_swatches(axes, PAGE, found, colours, {"1": "xx"})
    for place, text in enumerate(axes.texts):
        assert isinstance(text, Annotation)
        x = 9 + (place % columns + 0.5) * 7.7 * SMALL
        assert [72 * text.xy[0], text.xy[1]] == pytest.approx(
            [x, 1 - (place // columns + 0.5) / rows]
        )
        assert text.get_color() == text_on(colours[text.get_text()])
        box = text.get_bbox_patch()
        assert box is not None
        assert box.get_hatch() == ("xx" if text.get_text() == "1" else None)
        assert not text.get_in_layout()
        assert to_hex(box.get_edgecolor()) == (HATCHING if text.get_text() == "1" else MUTED)
    assert len(axes.texts) == count
