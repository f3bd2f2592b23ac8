"""Tables with types in Arrow, pandas and polars: the same values, and the same types always."""

import math
import sys
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pandas
import polars
import pyarrow
import pytest

from rearlog.frames.columns import TypedColumn, ValueKind, stage_order
from rearlog.frames.typed import TypedTable, of_rows
from rearlog.records.errors import UsageError

STAGES = ("egg", "L1", "Püppchen", "adult")
COLUMNS = (
    TypedColumn("cohort", ValueKind.TEXT, "Which cohort."),
    TypedColumn("stage", ValueKind.ORDERED, "The stage.", among=STAGES),
    TypedColumn("n", ValueKind.INTEGER, "How many."),
    TypedColumn("days", ValueKind.FLOAT, "How long.", "days"),
    TypedColumn("seen", ValueKind.BOOLEAN),
    TypedColumn("at", ValueKind.INSTANT, "When."),
    TypedColumn("day", ValueKind.DATE),
)
WINTER, SUMMER = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
# the clocks of middle Europe went on at 01:00 UTC of this day
BEFORE, AFTER = datetime(2026, 3, 29, 1, 30, tzinfo=WINTER), datetime(2026, 3, 29, 3, tzinfo=SUMMER)
ROWS: list[dict[str, Any]] = [
    {
        "cohort": "room",
        "stage": "adult",
        "n": 3,
        "days": 2.5,
        "seen": True,
        "at": BEFORE,
        "day": date(2026, 3, 29),
    },
    {**dict.fromkeys(["n", "days", "seen", "at", "day"]), "cohort": "cool", "stage": "L1"},
    {
        "cohort": "room",
        "stage": None,
        "n": 2**53 + 1,
        "days": 1.0,
        "seen": False,
        "at": AFTER,
        "day": date(2026, 10, 25),
    },
]
IN_PANDAS = {
    "cohort": "string",
    "n": "Int64",
    "days": "Float64",
    "seen": "boolean",
    "at": "datetime64[us, UTC]",
    "day": "datetime64[us]",
}
IN_POLARS = {
    "cohort": polars.String(),
    "stage": polars.Enum(STAGES),
    "n": polars.Int64(),
    "days": polars.Float64(),
    "seen": polars.Boolean(),
    "at": polars.Datetime("us", "UTC"),
    "day": polars.Date(),
}
UTC_TIMES = [
    datetime(2026, 3, 29, 0, 30, tzinfo=UTC),
    None,
    datetime(2026, 3, 29, 1, tzinfo=UTC),
]


@pytest.mark.parametrize("rows", [ROWS, ROWS[:1], ROWS[1:2], []], ids=["all", "1", "blank", "0"])
def test_types_are_the_same_whatever_the_rows_hold(rows: list[dict[str, Any]]) -> None:
    table = of_rows("looks", COLUMNS, rows)
    assert len(table) == len(rows)
    frame = table.to_frame()
    kinds = dict(frame.dtypes)
    stage = kinds.pop("stage")
    assert kinds == IN_PANDAS
    assert (tuple(stage.categories), stage.ordered) == (STAGES, True)
    assert dict(table.to_frame("polars").schema) == IN_POLARS
    assert table.to_arrow().schema == of_rows("looks", COLUMNS, ROWS).to_arrow().schema


def test_values_are_the_same_in_every_frame() -> None:
    table = of_rows("looks", COLUMNS, ROWS)
    told = [{**row, "at": moment} for row, moment in zip(ROWS, UTC_TIMES, strict=True)]
    assert table.to_arrow().to_pylist() == told
    assert table.to_frame("polars").to_dicts() == told
    frame = table.to_frame()
    assert frame["n"].tolist() == [3, pandas.NA, 2**53 + 1]
    assert frame["days"].tolist() == [2.5, pandas.NA, 1.0]
    assert frame["seen"].tolist() == [True, pandas.NA, False]
    assert [None if pandas.isna(each) else each for each in frame["at"]] == UTC_TIMES
    assert frame["day"].dt.strftime("%d.%m.").tolist()[::2] == ["29.03.", "25.10."]
    assert frame["stage"].max() == "adult"
    assert frame.attrs["units"] == {"days": "days"}


def test_both_libraries_take_a_table_as_it_is() -> None:
    table = of_rows("looks", COLUMNS, ROWS)
    assert pyarrow.table(table) == table.to_arrow()
    assert polars.DataFrame(table).equals(table.to_frame("polars"))
    assert table.to_arrow().schema.field("days").metadata == {
        b"meaning": b"How long.",
        b"unit": b"days",
    }
    assert table.to_arrow().schema.field("cohort").metadata == {b"meaning": b"Which cohort."}
    assert table.to_arrow().schema.field("stage").type.ordered
    assert table.to_arrow()["stage"].chunk(0).type.ordered


def test_a_number_that_is_none_is_unknown_in_arrow_too() -> None:
    values: Any = np.array([1.0, math.nan])
    table = TypedTable("days", (TypedColumn("days", ValueKind.FLOAT),), (values,))
    assert table.to_arrow()["days"].to_pylist() == [1.0, None]


def test_a_table_without_columns_has_no_rows() -> None:
    assert len(TypedTable("nothing", (), ())) == 0


def test_a_stage_that_the_column_does_not_know_is_a_mistake() -> None:
    table = of_rows("looks", COLUMNS[1:2], [{"stage": "imago"}])
    with pytest.raises(KeyError, match="imago"):
        table.to_arrow()


def test_columns_are_as_long_as_each_other() -> None:
    with pytest.raises(ValueError, match="looks: the columns have not the same number"):
        TypedTable("looks", COLUMNS[:2], (["room"], []))
    with pytest.raises(ValueError, match="looks"):
        TypedTable("looks", COLUMNS[:2], (["room"],))


def test_a_table_says_what_it_is() -> None:
    table = of_rows("looks", COLUMNS[:2], ROWS)
    assert repr(table) == "<looks: 3 rows of cohort, stage>"
    assert table.column("cohort") == ["room", "cool", "room"]
    with pytest.raises(KeyError, match="eggs"):
        table.column("eggs")


def test_stages_of_several_species_have_one_order() -> None:
    assert stage_order([["egg", "L1", "adult"]]) == ("egg", "L1", "adult")
    assert stage_order([["egg", "L1", "pupa", "adult"], ["egg", "L1", "L2", "adult"]]) == (
        "egg",
        "L1",
        "L2",
        "pupa",
        "adult",
    )
    longer = [["egg", "adult"], ["egg", "L1", "L2", "L3", "adult"]]
    assert stage_order(longer) == ("egg", "L1", "L2", "L3", "adult")
    assert stage_order([["L1", "pupa"], ["egg", "L1", "adult"]]) == ("egg", "L1", "adult", "pupa")


@pytest.mark.parametrize(
    ("library", "kind", "command"),
    [
        ("pandas", "pandas", "rearlog\\[frames\\]"),
        ("pyarrow", "polars", "rearlog\\[frames\\]"),
        ("polars", "polars", "pip install polars"),
    ],
)
def test_a_library_that_is_missing_is_said_with_its_remedy(
    library: str, kind: Any, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(UsageError, match=f"needs {library}, which is not installed .*{command}"):
        of_rows("looks", COLUMNS, ROWS).to_frame(kind)


def test_other_frames_are_refused() -> None:
    with pytest.raises(UsageError, match=r"no frame “R” \(choose pandas or polars"):
        of_rows("looks", COLUMNS, ROWS).to_frame("R")  # type: ignore[call-overload]
