"""Stage against stage: each cell has the number that the table has."""

from matplotlib.patches import Rectangle

from rearlog.charts.agreement import MOST_PANELS, agreement
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
