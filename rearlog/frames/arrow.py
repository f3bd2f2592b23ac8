"""Tables with types as Arrow: int64, float64, bool, string, UTC microseconds, dates, dictionaries.

A field's metadata has its `meaning` and its `unit`. Needs pyarrow, which is optional.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rearlog.frames.columns import TypedColumn, ValueKind
from rearlog.frames.missing import library

if TYPE_CHECKING:
    import pyarrow


def arrow_schema(columns: Sequence[TypedColumn]) -> pyarrow.Schema:
    """The schema of some columns, whatever rows they have: the same for every batch of them."""
    pa = library("pyarrow")
    return pa.schema([_field(each) for each in columns])


def arrow_table(columns: Sequence[TypedColumn], values: Sequence[Sequence[Any]]) -> pyarrow.Table:
    """A table with types as one of pyarrow; raises UsageError where that is not installed."""
    pa = library("pyarrow")
    pairs = zip(columns, values, strict=True)
    arrays = [_array(column, own) for column, own in pairs]
    return pa.Table.from_arrays(arrays, schema=arrow_schema(columns))


def _type(column: TypedColumn) -> Any:
    pa = library("pyarrow")
    types = {
        ValueKind.TEXT: pa.string(),
        ValueKind.INTEGER: pa.int64(),
        ValueKind.FLOAT: pa.float64(),
        ValueKind.BOOLEAN: pa.bool_(),
        ValueKind.INSTANT: pa.timestamp("us", tz="UTC"),
        ValueKind.DATE: pa.date32(),
        ValueKind.ORDERED: pa.dictionary(pa.int16(), pa.string(), ordered=True),
    }
    return types[column.kind]


def _field(column: TypedColumn) -> Any:
    said = {"meaning": column.meaning, "unit": column.unit}
    if column.kind is ValueKind.ORDERED:
        # by this note polars keeps the order, as an Enum; as text with lengths, as it writes it
        told = "".join(f"{len(each.encode())};{each}" for each in column.among)
        said["_PL_ENUM_VALUES"] = told
    metadata = {key: value for key, value in said.items() if value}
    return library("pyarrow").field(column.name, _type(column), metadata=metadata)


def _array(column: TypedColumn, values: Sequence[Any]) -> Any:
    pa = library("pyarrow")
    if column.kind is not ValueKind.ORDERED:
        return pa.array(values, type=_type(column), from_pandas=True)
    places = {each: place for place, each in enumerate(column.among)}
    places_of = [None if each is None else places[each] for each in values]
    words = pa.array(column.among, type=pa.string())
    return pa.DictionaryArray.from_arrays(pa.array(places_of, type=pa.int16()), words, ordered=True)
