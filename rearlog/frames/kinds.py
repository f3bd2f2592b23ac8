"""The kinds of data frames that a table with types can become."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rearlog.frames.columns import TypedColumn
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    import pandas
    import polars


def frame(
    columns: Sequence[TypedColumn], values: Sequence[Sequence[Any]], kind: str
) -> pandas.DataFrame | polars.DataFrame:
    """A table as a data frame of a kind; raises UsageError for one that is not known."""
    if kind == "pandas":
        from rearlog.frames.pandas import pandas_frame

        return pandas_frame(columns, values)
    if kind == "polars":
        from rearlog.frames.polars import polars_frame

        return polars_frame(columns, values)
    raise UsageError(f"there is no frame “{kind}”", "choose pandas or polars")
