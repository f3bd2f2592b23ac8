"""Tables with types as polars data frames, by way of Arrow; stages are an Enum in their order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rearlog.frames.arrow import arrow_table
from rearlog.frames.columns import TypedColumn
from rearlog.frames.missing import library

if TYPE_CHECKING:
    import polars


def polars_frame(
    columns: Sequence[TypedColumn], values: Sequence[Sequence[Any]]
) -> polars.DataFrame:
    """A table with types as a polars data frame."""
    found: polars.DataFrame = library("polars").DataFrame(arrow_table(columns, values))
    return found
