"""Stage against stage: each cell has the number that the table has."""

import pytest
from matplotlib.patches import Rectangle
from msgspec.structs import replace

from rearlog.charts.agreement import MOST_PANELS, agreement
from rearlog.charts.palette import INK, PAPER
from rearlog.charts.style import Style, around, look
from rearlog.sentences.agreement import notes, title
from tests.analysis.invented_calls import a_round, called, found_in, log_of
from tests.builders import tiny_log
from tests.charts.conftest import parts, texts, words


def test_the_cells_hold_the_table() -> None:
    figure = agreement([found_in(a_round())])
    drawn = parts(figure)
    agreed, differ, empty = (
        drawn[f"cell-tiny-KT-MB-{name}"] for name in ("L1-L1", "L3-L1", "L2-L1")
    )
    assert isinstance(agreed, Rectangle)
    assert isinstance(differ, Rectangle)
    assert isinstance(empty, Rectangle)
    assert agreed.get_facecolor()[:3] != differ.get_facecolor()[:3]
    assert empty.get_alpha() == 0
    numbers = {text.xy: text.get_text() for text in texts(figure) if hasattr(text, "xy")}
    assert numbers[(0, 0)] == "8"  # both called L1
    assert numbers[(1, 2)] == "2"  # KT called L3, MB L2
    assert (0, 1) not in numbers
    assert "KT down, MB across: 15 of 18" in words(figure)


def test_without_pairs_it_says_so() -> None:
    assert "No two observers" in words(agreement([found_in(tiny_log({"1": "egg L1"}))]))


def test_of_many_pairs_those_with_the_most_calls_are_drawn() -> None:
    names = "ABCDE"
    log = log_of(
        *(called("1", 1, "L1", name) for name in names),
        called("2", 1, "L1", "A"),
        called("2", 1, "L1", "B"),
    )
    figure = agreement([found_in(log)])
    assert sum(axes.axison for axes in figure.axes) == MOST_PANELS
    assert any("A down, B across: 2 of 2" in line for line in words(figure).splitlines())


@pytest.mark.parametrize(("times", "digits"), [(1, 1), (15, 3), (1500, 5)])
def test_numbers_are_as_small_as_their_cells_ask_for(times: int, digits: int) -> None:
    """On a phone two panels of 4 cells are 28.42 / 2 − 6 = 8.21 letters wide: a number of 0.64 a
    digit has 0.9 of a cell, is no larger than other text and no smaller than may be."""
    phone = look("phone")
    found = found_in(a_round())
    (pair,) = found.pairs
    table = tuple(tuple(times * n for n in row) for row in pair.table)
    both = replace(found, pairs=(replace(pair, table=table),) * 2)
    figure = agreement([both], phone)
    needed = max(1.7, digits * 0.64 * phone.least_pt / phone.text_pt + 0.4) * 4
    across = 2 if phone.width_in * 72 / phone.text_pt >= 2 * (needed + 6) else 1
    wide = phone.width_in * 72 / phone.text_pt / across - 6
    side = min(wide, 2.2 * needed)
    cell = side / 4 if side >= needed else wide / 4
    sizes = {
        len(text.get_text()): text.get_fontsize() / phone.text_pt
        for text in figure.axes[0].texts
        if text.get_text().isdigit()
    }
    expected = min(1.0, max(phone.least_pt / phone.text_pt, 0.9 * cell / (0.64 * digits)))
    assert sizes[digits] == pytest.approx(expected)


def test_tables_below_each_other_share_the_height_that_there_is() -> None:
    """Three on a page of two inches in width and twelve in height: words take what they take, each
    table 8.5 letters beside its cells, and these the width, less than 2.2 times what they need."""
    found = [replace(found_in(a_round()), cohort=f"c{n}") for n in range(3)]
    for tallest in (6.0, 8.0, 12.0):
        own = replace(look("page"), width_in=2.5, tallest_in=tallest)
        figure = agreement(found, own)
        assert figure.get_figheight() <= tallest + 1e-9
        grid = figure.axes[0].get_gridspec()
        assert grid is not None
        sides = [each / own.em_in for each in grid.get_height_ratios()]
        assert len(set(sides)) == 1
        assert 1.7 * 4 <= sides[0] <= 2.5 / own.em_in - 6


@pytest.mark.parametrize(("wide", "square"), [(14.4, False), (14.5, True)])
def test_cells_are_square_where_each_has_the_room_that_it_needs(wide: float, square: bool) -> None:
    """Five of 1.7 letters are 8.5, and 6 stand beside them; in letters of an inch."""
    own = Style(wide, 99.0, 99.0, 72.0, 1.0, 72.0)
    found = found_in(a_round())
    (pair,) = found.pairs
    stages = ("L1", "L2", "L3", "L4", "L5")
    table = tuple(tuple(int(row == column) for column in range(5)) for row in range(5))
    five = replace(found, pairs=(replace(pair, stages=stages, table=table),))
    assert (agreement([five], own).axes[0].get_aspect() == 1.0) == square


@pytest.mark.parametrize(("high", "turned"), [(8.0, 90), (6.0, 0)])
def test_names_are_turned_where_a_cell_is_narrower_than_they_are(high: float, turned: int) -> None:
    """“pupa” is 2.78 times 0.86 letters wide. Four cells that are 8 letters high are square, and 2
    wide; those that are 6 high are less high than they need, and share 50 letters of the width."""
    usual = look("page")
    found = found_in(a_round())
    words_in = around(usual, title([found]), notes([found]), invented=False).height_in
    low = replace(usual, tallest_in=words_in + (high + 8.5) * usual.em_in)
    (axes,) = agreement([found], low).axes
    assert {each.get_rotation() for each in axes.get_xticklabels()} == {turned}


def test_numbers_are_white_on_cells_that_are_more_than_half_as_dark() -> None:
    """Of 17 the darkest, 7 are 0.15 + 0.85 × 7/17 = a half; no number is on an empty cell, and none
    that differs is white."""
    found = found_in(a_round())
    (pair,) = found.pairs
    table = ((17, 0, 17), (0, 8, 0), (0, 0, 7))
    three = replace(pair, stages=("L1", "L2", "L3"), table=table)
    (axes,) = agreement([replace(found, pairs=(three,))]).axes
    told = {text.xy: (text.get_text(), text.get_color()) for text in axes.texts}  # type: ignore[attr-defined]
    assert told == {
        (0, 0): ("17", PAPER),
        (2, 0): ("17", INK),
        (1, 1): ("8", PAPER),
        (2, 2): ("7", INK),
    }


@pytest.mark.parametrize(
    ("largest", "cell"), [(9, 1.7), (999, 1.7), (9999, 2.1067), (99999, 2.5333)]
)
def test_cells_have_room_for_the_largest_number(largest: int, cell: float) -> None:
    """Of the smallest letters, 6 of 9 pt, a digit takes 0.64, and 0.4 stand beside them; a table is
    2.2 times as high as its four cells need."""
    found = found_in(a_round())
    (pair,) = found.pairs
    table = ((largest, *pair.table[0][1:]), *pair.table[1:])
    (axes,) = agreement([replace(found, pairs=(replace(pair, table=table),))]).axes
    grid = axes.get_gridspec()
    assert grid is not None
    assert grid.get_height_ratios()[0] * 72 / 9 == pytest.approx(2.2 * 4 * cell, abs=0.001)
