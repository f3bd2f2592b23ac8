"""What a column of a table with types holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from msgspec import Struct


class ValueKind(Enum):
    """What the values of a column are."""

    TEXT = "text"
    INTEGER = "integer"
    """A whole number."""
    FLOAT = "float"
    BOOLEAN = "boolean"
    INSTANT = "UTC instant"
    """A moment: a datetime with its offset, which frames keep in UTC."""
    DATE = "date"
    """A day without a time."""
    ORDERED = "ordered category"
    """One of the column's `among`, in this order, such as the stages of a species."""


class TypedColumn(Struct, frozen=True):
    """One column: its kind of value, its unit, and what it means; of an ordered one what is among
    its values, first to last."""

    name: str
    kind: ValueKind
    meaning: str = ""
    unit: str | None = None
    among: tuple[str, ...] = ()


def stage_order(lists: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """One order for the stages of several species: each list keeps its own, as far as all agree.

    What a list has more stands right after what stands before it there.
    """
    order: list[str] = []
    for each in lists:
        place = 0
        for stage in each:
            if stage in order:
                place = order.index(stage) + 1
            else:
                order.insert(place, stage)
                place += 1
    return tuple(order)
