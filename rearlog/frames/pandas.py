"""Tables with types as pandas data frames, whose dtypes are the same whatever the rows hold.

Text is `string`, a whole number `Int64`, a number `Float64`, yes or no `boolean`, a moment
`datetime64[us, UTC]`, a day `datetime64[us]` at midnight, a stage an ordered category.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rearlog.frames.columns import TypedColumn, ValueKind
from rearlog.frames.missing import library

if TYPE_CHECKING:
    import pandas

_DTYPES = {
    ValueKind.TEXT: "string",
    ValueKind.INTEGER: "Int64",
    ValueKind.FLOAT: "Float64",
    ValueKind.BOOLEAN: "boolean",
    ValueKind.DATE: "datetime64[us]",
}


def pandas_frame(
    columns: Sequence[TypedColumn], values: Sequence[Sequence[Any]]
) -> pandas.DataFrame:
    """A table with types as a pandas data frame; `attrs` has the units, by column."""
    pd = library("pandas")
    pairs = zip(columns, values, strict=True)
    found = pd.DataFrame({column.name: _values(column, own) for column, own in pairs})
    found.attrs["units"] = {each.name: each.unit for each in columns if each.unit}
    return found


def _values(column: TypedColumn, values: Sequence[Any]) -> Any:
    pd = library("pandas")
    if column.kind is ValueKind.ORDERED:
        return pd.Categorical(values, categories=column.among, ordered=True)
    if column.kind is ValueKind.INSTANT:
        return pd.Series(pd.to_datetime(values, utc=True)).astype("datetime64[us, UTC]")
    if column.kind is ValueKind.DATE:
        return pd.Series(pd.to_datetime(values)).astype(_DTYPES[column.kind])
    return pd.array(values, dtype=_DTYPES[column.kind])
