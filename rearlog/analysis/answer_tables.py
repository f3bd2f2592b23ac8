"""Results as tables with types: a table for each list of rows in a result, and one for the rest.

A pair of numbers becomes two columns, `_low` and `_high`; a result within one a column a field, its
name in front; a list of words one text. What a row holds several of is a table of its own, called
by the path that leads there (`stages.groups`), and repeats in front what tells its rows apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, datetime
from enum import Enum
from functools import cache
from typing import Any, Literal, get_args, get_origin

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.hints import hints_of, is_pair, is_result, known
from rearlog.frames.columns import TypedColumn, ValueKind
from rearlog.frames.typed import TypedTable

REST = "summary"
"""What the table of a result's own fields is called, those of its lists left out."""

STAGES = frozenset({"into", "last_stage", "since", "stage", "taken_for", "until"})
"""The fields that hold a stage."""

_NUMBERED = {
    "quartile_bounds": ("lower_quartile", None, "upper_quartile"),
    "npmle_quartiles": ("npmle_lower_quartile", None, "npmle_upper_quartile"),
}
"""Lists of pairs of a known length, and the names of the pairs that have no field of their own."""

_UNITS = {
    "degree_days": "degree-days °C",
    "mm": "mm",
    "mg": "mg",
    "days": "days",
    "minutes": "minutes",
    "celsius": "°C",
    "temperature": "°C",
}
"""The units of fields whose names end so; the first ending counts."""

Meaning = Callable[[type, str], str]
"""What a field of a kind of result means."""


def tables_of(
    result: Any, stages: Sequence[str] = (), meaning: Meaning = lambda _kind, _key: ""
) -> dict[str, TypedTable]:
    """The tables of a result by their names, those of its lists first; `stages` are all there are,
    in their order. Each has a column `cohort` in front, where it is about one cohort."""
    kind: Any = type(result)
    plan = _planned(kind)
    rows: dict[str, list[list[Any]]] = {each.name: [] for each in plan.all()}
    _fill(plan, result, (), rows)
    order = _order(plan, rows, stages)
    about = meaning(kind, "cohort")
    *lists, rest = [_typed(each, rows[each.name], order, meaning, about) for each in plan.all()]
    return {each.name: each for each in (*lists, rest)}


class _FieldColumn(Struct, frozen=True):
    """One column: what its values are, and of which field of which kind of result."""

    name: str
    kind: ValueKind
    owner: type
    key: str
    unit: str | None = None


class _Plan(Struct, frozen=True):
    """What a table of some kind of row has: what stands in `front` of the columns of its rows, and
    the tables of the lists in them, by the fields that lead there. `keys` are the places of the
    `own` columns that stand in front of those; without any, it is the number of the row."""

    name: str
    front: tuple[_FieldColumn, ...]
    own: tuple[_FieldColumn, ...]
    keys: tuple[int, ...]
    lists: tuple[tuple[str, _Plan], ...]
    numbered: bool

    def all(self) -> Iterator[_Plan]:
        """The tables within, and last this one."""
        yield from self.within()
        yield self

    def within(self) -> Iterator[_Plan]:
        """The tables within this one."""
        for _, each in self.lists:
            yield each
            yield from each.within()


@cache
def _planned(kind: Any, name: str = REST, front: tuple[_FieldColumn, ...] = ()) -> _Plan:
    """The plan of a kind of result; in front of its lists stands the cohort, in front of theirs
    what tells the rows apart: the words and dates that these begin with."""
    own = tuple(cell for cell, _ in _columns(kind, None, ""))
    taken = {each.name for each in own}
    front = tuple(
        replace(each, name=f"of_{each.name}") if each.name in taken else each for each in front
    )
    whole = name == REST
    if whole:
        keys = tuple(place for place, each in enumerate(own) if each.name == "cohort")
    else:
        keys = tuple(range(_leading(kind)))
    number = _FieldColumn(name.rpartition(".")[2], ValueKind.INTEGER, kind, "")
    numbered = not keys and not whole
    before = (*front, *([number] if numbered else [own[place] for place in keys]))
    lists = tuple(
        (field, _planned(inner, field if whole else f"{name}.{field}", before))
        for field, inner, _ in _lists(kind, None, "")
    )
    return _Plan(name, front, own, keys, lists, numbered)


def _leading(kind: type) -> int:
    """How many columns the words and dates take that a kind of row begins with."""
    places = 0
    for hint in hints_of(kind).values():
        if hint not in (str, date, tuple[str, str]):
            break
        places += 2 if is_pair(hint) else 1
    return places


def _fill(
    plan: _Plan, result: Any, front: tuple[Any, ...], rows: dict[str, list[list[Any]]]
) -> None:
    """Add the row of a result, and those of its lists."""
    values = [value for _, value in _columns(type(result), result, "")]
    rows[plan.name].append([*front, *values])
    number = len(rows[plan.name])
    before = (*front, *([number] if plan.numbered else [values[place] for place in plan.keys]))
    held = _lists(type(result), result, "")
    for (_, inner), (_, _, items) in zip(plan.lists, held, strict=True):
        for item in items:
            _fill(inner, item, before, rows)


def _columns(kind: type, result: Any, prefix: str) -> Iterator[tuple[_FieldColumn, Any]]:
    """The columns of a kind of result, with their values in one (None: in no result)."""
    for name, hint in hints_of(kind).items():
        hint, value = known(hint), getattr(result, name, None)
        called = "cohort" if (prefix, name) == ("", _label(kind)) else f"{prefix}{name}"
        if name in _NUMBERED:
            pairs = value or [None] * len(_NUMBERED[name])
            for told, pair in zip(_NUMBERED[name], pairs, strict=True):
                if told is not None:
                    yield from _pair(kind, name, f"{prefix}{told}", known(get_args(hint)[0]), pair)
        elif is_pair(hint):
            yield from _pair(kind, name, called, hint, value)
        elif is_result(hint):
            yield from _columns(hint, value, f"{called}_")
        elif (told_as := _kind_of(name, hint)) is not None:
            yield _FieldColumn(called, told_as, kind, name, _unit(name)), _plain(told_as, value)


def _label(kind: type) -> str:
    """The field that says which cohort a row is about: where it has an identity too, its name."""
    return "name" if {"id", "name"} <= hints_of(kind).keys() else "cohort"


def _pair(
    kind: type, name: str, called: str, hint: Any, pair: Any
) -> Iterator[tuple[_FieldColumn, Any]]:
    what = _kind_of("", known(get_args(hint)[0])) or ValueKind.FLOAT
    ends = ("low", "high") if what is ValueKind.FLOAT else ("1", "2")
    for end, value in zip(ends, pair or (None, None), strict=True):
        yield _FieldColumn(f"{called}_{end}", what, kind, name, _unit(name)), value


def _lists(kind: type, result: Any, prefix: str) -> Iterator[tuple[str, type, Sequence[Any]]]:
    """What a result holds lists of, by the names of the fields, also within what it holds."""
    for name, hint in hints_of(kind).items():
        hint, value = known(hint), getattr(result, name, None)
        if is_result(hint):
            yield from _lists(hint, value, f"{prefix}{name}.")
        elif get_origin(hint) in (list, tuple) and is_result(get_args(hint)[0]):
            yield f"{prefix}{name}", get_args(hint)[0], value or ()


def _kind_of(name: str, hint: Any) -> ValueKind | None:
    """What the values of a field are; None where they fit in no cell."""
    if hint is str:
        return ValueKind.ORDERED if name in STAGES else ValueKind.TEXT
    if isinstance(hint, type):
        kinds = {
            bool: ValueKind.BOOLEAN,
            int: ValueKind.INTEGER,
            float: ValueKind.FLOAT,
            datetime: ValueKind.INSTANT,
            date: ValueKind.DATE,
        }
        return kinds.get(hint, ValueKind.TEXT if issubclass(hint, Enum) else None)
    if get_origin(hint) in (list, tuple):
        inner = known(get_args(hint)[0])
        simple = inner in (str, int, float, date) or _is_word(inner)
        return ValueKind.TEXT if simple and len(get_args(hint)) == 2 else None
    if get_origin(hint) is Literal or {str, float} <= {*get_args(hint)}:
        return ValueKind.TEXT
    return None


def _is_word(hint: Any) -> bool:
    return isinstance(hint, type) and issubclass(hint, Enum)


def _plain(kind: ValueKind, value: Any) -> Any:
    """A value as its column holds it: words as text, many of them in one."""
    if kind is not ValueKind.TEXT or value is None:
        return value
    if isinstance(value, list | tuple):
        return " ".join(str(_plain(kind, each)) for each in value)
    return str(value.value) if isinstance(value, Enum) else str(value)


def _unit(name: str) -> str | None:
    ends = (unit for end, unit in _UNITS.items() if f"_{name}".endswith(f"_{end}"))
    return next(ends, None)


def _order(
    plan: _Plan, rows: Mapping[str, Sequence[Sequence[Any]]], stages: Sequence[str]
) -> tuple[str, ...]:
    """The stages in their order; last what else is told of like one, such as a span of several."""
    found = dict.fromkeys(stages)
    for each in plan.all():
        for place, cell in enumerate((*each.front, *each.own)):
            if cell.kind is ValueKind.ORDERED:
                found |= dict.fromkeys(row[place] for row in rows[each.name])
    return tuple(each for each in found if each is not None)


def _typed(
    plan: _Plan,
    rows: Sequence[Sequence[Any]],
    order: tuple[str, ...],
    meaning: Meaning,
    about: str,
) -> TypedTable:
    """The table of a plan; `about` says what its column `cohort` means."""
    cells = (*plan.front, *plan.own)
    columns = [
        TypedColumn(
            each.name,
            each.kind,
            about if each.name == "cohort" else meaning(each.owner, each.key),
            each.unit,
            order if each.kind is ValueKind.ORDERED else (),
        )
        for each in cells
    ]
    values: list[Sequence[Any]] = [[row[place] for row in rows] for place in range(len(cells))]
    named = [each.name for each in cells]
    at = named.index("cohort") if "cohort" in named else None
    first = TypedColumn("cohort", ValueKind.TEXT, about) if at is None else columns.pop(at)
    theirs = [None] * len(rows) if at is None else values.pop(at)
    return TypedTable(plan.name, (first, *columns), (theirs, *values))
