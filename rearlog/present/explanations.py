"""The tables of what names stand for. Nothing is looked up here, only laid out."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.present.explaining import Explained, HowMade, Meaning, Names
from rearlog.present.tables import Table

MOST_MADE = 2
"""Of more ways to work it out than this only the names are told: ask for one answer."""
MOST_MEANINGS = 3
"""A name that means more things than this is told in a line each."""


def name_tables(result: Names) -> list[Table]:
    """The names of each answer and chart."""
    return [
        Table.of(
            "What can be explained",
            result.answers,
            [
                ("in", lambda each: each.answer),
                ("names", lambda each: ", ".join(each.names)),
            ],
            ["One of them: rearlog explain NAME, or with the answer before it."],
        )
    ]


def name_rows(result: Names) -> Table:
    """A row a name, for spreadsheets."""
    rows = [[each.answer, name] for each in result.answers for name in each.names]
    return Table("", ["answer", "name"], rows)


def explained_tables(result: Explained) -> list[Table]:
    """A table a meaning; of a whole answer, or of many meanings, one with a line each."""
    if result.whole:
        rows = [
            [", ".join([each.name, *each.names]), each.says, each.formula or ""]
            for each in result.meanings
        ]
        return [Table(f"{result.name}: what its names mean", ["name", "is", "formula"], rows)]
    if len(result.meanings) > MOST_MEANINGS:
        rows = [
            [", ".join(each.where) or "all", each.says, each.formula or ""]
            for each in result.meanings
        ]
        words = [f"All of one: rearlog explain ANSWER {result.meanings[0].name}"]
        return [Table(result.name, ["in", "is", "formula"], rows, words)]
    return [
        Table(f"{each.name}{_where(each)}", ["", each.says], list(_rows(each)))
        for each in result.meanings
    ]


def _where(each: Meaning) -> str:
    return f", in {', '.join(each.where)}" if each.where else ""


def _rows(each: Meaning) -> Iterator[list[str]]:
    if each.formula is not None:
        yield ["formula", each.formula]
    if len(each.made) <= MOST_MADE:
        for made in each.made:
            yield from _of_one(made)
    else:
        yield ["made by", "; ".join(made.function for made in each.made)]
        yield ["checked in", "; ".join({c: None for made in each.made for c in made.checked})]
    for note in each.notes if len(each.notes) <= MOST_MADE else ():
        yield ["note", note]
    if each.names:
        yield ["also", ", ".join(each.names)]


def _of_one(made: HowMade) -> Iterator[list[str]]:
    yield ["made by", f"{made.function}: {made.does}"]
    for source in made.sources:
        yield ["source", source]
    if made.assumes is not None:
        yield ["assumes", made.assumes]
    yield ["checked in", ", ".join(made.checked)]
