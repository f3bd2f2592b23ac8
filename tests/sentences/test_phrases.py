"""Words that charts share."""

from rearlog.charts.panels import grid
from rearlog.charts.style import look
from rearlog.sentences.phrases import (
    Finding,
    by_cohort,
    listed,
    p_text,
    percent,
    plural,
    sentence_case,
)


def test_a_few_cohorts_are_listed_and_many_stand_between_their_ends() -> None:
    found = [Finding(f"c{value}", value, f"{value} days") for value in (3, 1, 2)]
    assert by_cohort(found) == "c3 3 days, c1 1 days, c2 2 days"
    many = [*found, Finding("c9", 9, "9 days"), Finding("c4", 4, "4 days")]
    assert by_cohort(many) == "1 days (c1) to 9 days (c9) in 5 cohorts"


def test_small_words() -> None:
    assert percent(0.714) == "71 %"
    assert sentence_case("egg to L1 at 20 °C") == "Egg to L1 at 20 °C"
    assert sentence_case("") == ""


def test_panels_stand_in_columns_where_the_height_is_fixed() -> None:
    assert (grid(look("slide"), 1).columns, grid(look("slide"), 3).columns) == (1, 2)
    assert (grid(look("page"), 6).columns, grid(look("page"), 12).columns) == (1, 2)
    assert grid(look("phone"), 12).columns == 1
    layout = grid(look("double"), 11)
    assert (layout.rows, layout.columns) == (6, 2)
    lowest = [layout.lowest(place, 11) for place in range(11)]
    assert lowest == [False] * 9 + [True] * 2
    assert layout.heights([1, 5, 0, 2, 7, 0, 0, 0, 1, 1, 3]) == [5, 2, 7, 1, 1, 3]


def test_a_p_value_is_never_zero_and_not_rounded_over_a_level() -> None:
    assert [p_text(p) for p in (0.0004, 0.001, 0.0496, 0.0999, 0.1, 0.25)] == [
        "p < 0.001",
        "p = 0.001",
        "p = 0.050",
        "p = 0.100",
        "p = 0.10",
        "p = 0.25",
    ]


def test_things_in_a_row() -> None:
    assert [listed(list(items)) for items in ("", "a", "ab", "abc")] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]


def test_several_in_a_stage() -> None:
    assert [plural(stage) for stage in ("pupa", "egg", "L3")] == ["pupae", "eggs", "L3"]
