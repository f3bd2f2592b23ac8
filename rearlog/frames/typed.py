"""A table with types: what a column holds is said once, and every kind of frame draws from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, overload

from msgspec import Struct

from rearlog.frames.columns import TypedColumn

if TYPE_CHECKING:
    import pandas
    import polars
    import pyarrow

FrameKind = Literal["pandas", "polars"]


class TypedTable(Struct, frozen=True):
    """Columns, and the values of each: `values[i][row]` is that of `columns[i]`, None if unknown.

    Anything that reads Arrow's C stream takes it as it is: `pyarrow.table(table)`,
    `polars.DataFrame(table)`. Raises ValueError where a column lacks values.
    """

    name: str
    columns: tuple[TypedColumn, ...]
    values: tuple[Sequence[Any], ...]

    def __post_init__(self) -> None:
        if len(self.columns) != len(self.values) or len({*map(len, self.values)}) > 1:
            raise ValueError(f"{self.name}: the columns have not the same number of values")

    def __len__(self) -> int:
        return len(self.values[0]) if self.values else 0

    def __repr__(self) -> str:
        names = ", ".join(each.name for each in self.columns)
        return f"<{self.name}: {len(self)} rows of {names}>"

    def column(self, name: str) -> Sequence[Any]:
        """The values of a column; KeyError where there is none of this name."""
        for each, values in zip(self.columns, self.values, strict=True):
            if each.name == name:
                return values
        raise KeyError(name)

    def to_arrow(self) -> pyarrow.Table:
        """The table as one of pyarrow; see `frames.arrow`."""
        from rearlog.frames.arrow import arrow_table

        return arrow_table(self.columns, self.values)

    @overload
    def to_frame(self, kind: Literal["pandas"] = "pandas") -> pandas.DataFrame: ...
    @overload
    def to_frame(self, kind: Literal["polars"]) -> polars.DataFrame: ...
    def to_frame(self, kind: FrameKind = "pandas") -> pandas.DataFrame | polars.DataFrame:
        """The table as a data frame; see `frames.pandas` and `frames.polars` for its types.

        Raises UsageError for another kind, and where the library is not installed.
        """
        from rearlog.frames.kinds import frame

        return frame(self.columns, self.values, kind)

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """The table as a stream of the Arrow C data interface."""
        return self.to_arrow().__arrow_c_stream__(requested_schema)


def of_rows(
    name: str, columns: Sequence[TypedColumn], rows: Iterable[Mapping[str, Any]]
) -> TypedTable:
    """The table of rows that give each column's value by its name."""
    values: list[list[Any]] = [[] for _ in columns]
    adders = [(each.name, own.append) for each, own in zip(columns, values, strict=True)]
    for row in rows:
        for key, add in adders:
            add(row[key])
    return TypedTable(name, tuple(columns), tuple(values))
