"""What stands in single cells, at the edges of what is known."""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from rearlog.analysis.pooling.season_thermal import ThermalConstants
from rearlog.present.tables import (
    Table,
    between,
    constants_reach,
    limits,
    p_cell,
    reach,
    tenth,
)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [(0.125, 2.5, "0.12–2.50"), (0.125, None, None), (None, 2.5, None), (None, None, None)],
)
def test_limits_are_told_where_both_are_known(
    low: float | None, high: float | None, told: str | None
) -> None:
    assert limits(low, high) == told
    assert reach(low, high, 2) == (told and told.replace("–", " to "))


def test_a_range_may_be_open_above() -> None:
    assert [between(each) for each in ((1.25, 2.0), (1.25, None), None)] == [
        "1.2–2.0",
        ">1.2",
        None,
    ]
    assert [between(each, 3) for each in ((0.0, 2.0), (0.0, None))] == ["0.000–2.000", ">0.000"]


def test_a_constant_is_told_to_a_digit_less_than_the_threshold() -> None:
    line = ThermalConstants(
        None, 3, 15.0, 25.0, 10.0, 0.5, 8.125, 12.0, 100.0, 0.5, 98.76, 101.0
    )  # fmt: skip
    assert constants_reach(line, 2) == ("8.12 to 12.00", "98.8 to 101.0")
    assert constants_reach(line, 1) == ("8.1 to 12.0", "99 to 101")
    bare = replace(line, threshold_low=None, constant_high=None)
    assert constants_reach(bare, 1) == (None, None)


def test_no_p_is_zero_and_no_value_is_told_beyond_a_tenth() -> None:
    cells = ["<0.001", "<0.001", "0.001", "0.050", "1.000", None]
    assert [p_cell(p) for p in (0.0, 0.000999, 0.001, 0.05, 1.0, None)] == cells
    assert [tenth(each) for each in (2.06, -0.3, 0.0, None)] == [
        Decimal("2.1"), Decimal("-0.3"), Decimal("0.0"), None
    ]  # fmt: skip


def test_a_table_of_things_has_a_cell_of_each_for_every_heading() -> None:
    table = Table.of("Words", ("egg", "pupa"), [("is", str.upper), ("long", len)], ["x"], full=True)
    assert table == Table("Words", ["is", "long"], [["EGG", 3], ["PUPA", 4]], ["x"], True)
    assert Table.of("None", (), [("is", str)]) == Table("None", ["is"], [], (), False)
