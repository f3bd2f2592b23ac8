"""Answers as tables with types: what stands in which column, of small answers made by hand."""

from datetime import UTC, date, datetime
from enum import StrEnum
from importlib import import_module
from typing import Any, ClassVar, Literal

import pytest
from msgspec import Struct

from rearlog.analysis.answer import Answer, in_order, speak_by
from rearlog.analysis.answer_tables import REST, _planned, tables_of
from rearlog.frames.columns import ValueKind
from rearlog.frames.typed import TypedTable
from rearlog.present.explaining import ANSWERS, ROOT
from rearlog.records.errors import UsageError

ORDERED, TEXT, INTEGER, FLOAT = (
    ValueKind.ORDERED,
    ValueKind.TEXT,
    ValueKind.INTEGER,
    ValueKind.FLOAT,
)


class Verdict(StrEnum):
    SHORT = "too short"


class Limits(Struct, frozen=True):
    low: float
    high: float | None


class Look(Struct, frozen=True):
    at: datetime
    stage: str
    n: int


class OfStage(Struct, frozen=True):
    stage: str
    sex: str
    n: int
    range: tuple[float, float | None] | None
    limits: Limits | None
    verdict: Verdict | None
    looks: tuple[Look, ...]
    observers: tuple[str, str] | None


class Cup(Struct, frozen=True):
    n: int
    looks: tuple[Look, ...]


class Counted(Answer, frozen=True):
    """A result as answers are."""

    main: ClassVar[str] = "stages"
    cohort: str
    days: float | None
    first: date | None
    stages: tuple[OfStage, ...]
    cups: tuple[Cup, ...]
    verdicts: tuple[Verdict, ...]
    whole: bool
    before: str | float | None = None
    unit: Literal["days", "heat"] = "days"
    degree_days: float | None = None


NOON = datetime(2026, 3, 9, 12, tzinfo=UTC)
LOOK = Look(NOON, "L1", 2)
COUNTED = Counted(
    "room",
    2.5,
    date(2026, 3, 9),
    (
        OfStage("L1", "f", 3, (1.0, None), Limits(0.5, 2.0), Verdict.SHORT, (LOOK,), ("KT", "MB")),
        OfStage("egg", "m", 1, None, None, None, (), None),
    ),
    (Cup(7, (LOOK, LOOK)), Cup(8, (LOOK,))),
    (Verdict.SHORT, Verdict.SHORT),
    True,
    2.5,
)


def rows(table: TypedTable) -> list[dict[str, Any]]:
    return [
        {each.name: values[row] for each, values in zip(table.columns, table.values, strict=True)}
        for row in range(len(table))
    ]


def kinds(table: TypedTable) -> dict[str, ValueKind]:
    return {each.name: each.kind for each in table.columns}


def test_a_list_of_rows_is_a_table_with_the_cohort_in_front() -> None:
    stages = tables_of(COUNTED)["stages"]
    assert rows(stages) == [
        {
            "cohort": "room",
            "stage": "L1",
            "sex": "f",
            "n": 3,
            "range_low": 1.0,
            "range_high": None,
            "limits_low": 0.5,
            "limits_high": 2.0,
            "verdict": "too short",
            "observers_1": "KT",
            "observers_2": "MB",
        },
        {
            "cohort": "room",
            "stage": "egg",
            "sex": "m",
            "n": 1,
            **dict.fromkeys(["range_low", "range_high", "limits_low", "limits_high", "verdict"]),
            **dict.fromkeys(["observers_1", "observers_2"]),
        },
    ]
    assert kinds(stages) == {
        "cohort": TEXT,
        "stage": ORDERED,
        "sex": TEXT,
        "n": INTEGER,
        "range_low": FLOAT,
        "range_high": FLOAT,
        "limits_low": FLOAT,
        "limits_high": FLOAT,
        "verdict": TEXT,
        "observers_1": TEXT,
        "observers_2": TEXT,
    }


def test_a_list_within_rows_repeats_what_tells_them_apart() -> None:
    every = tables_of(COUNTED)
    assert list(every) == ["stages", "stages.looks", "cups", "cups.looks", REST]
    # it has a stage itself, so that of the row in front is called otherwise
    assert rows(every["stages.looks"]) == [
        {"cohort": "room", "of_stage": "L1", "sex": "f", "at": NOON, "stage": "L1", "n": 2}
    ]
    assert kinds(every["stages.looks"])["at"] is ValueKind.INSTANT
    # nothing tells the cups apart, so they are numbered
    assert [(row["cups"], row["n"]) for row in rows(every["cups.looks"])] == [
        (1, 2),
        (1, 2),
        (2, 2),
    ]


class Quartiles(Struct, frozen=True):
    stage: str
    quartile_bounds: tuple[tuple[float, float | None] | None, ...]


class OfQuartiles(Answer, frozen=True):
    stages: tuple[Quartiles, ...]


def test_of_three_quartiles_the_outer_ones_are_columns_by_their_names() -> None:
    """The median has a field of its own; where nothing is known of them all are empty."""
    known = Quartiles("L1", ((1.0, 2.0), (3.0, 4.0), (5.0, None)))
    table = OfQuartiles((known, Quartiles("L2", ()))).tables()["stages"]
    names = ["lower_quartile_low", "lower_quartile_high"]
    names += ["upper_quartile_low", "upper_quartile_high"]
    assert rows(table) == [
        {"cohort": None, "stage": "L1", **dict(zip(names, (1.0, 2.0, 5.0, None), strict=True))},
        {"cohort": None, "stage": "L2", **dict.fromkeys(names)},
    ]
    assert {kinds(table)[name] for name in names} == {FLOAT}


def test_what_is_in_no_list_is_one_row() -> None:
    rest = tables_of(COUNTED)[REST]
    assert rows(rest) == [
        {
            "cohort": "room",
            "days": 2.5,
            "first": date(2026, 3, 9),
            "verdicts": "too short too short",
            "whole": True,
            "before": "2.5",
            "unit": "days",
            "degree_days": None,
        }
    ]
    units = {each.name: each.unit for each in rest.columns if each.unit}
    assert units == {"days": "days", "degree_days": "degree-days °C"}
    assert kinds(rest)["whole"] is ValueKind.BOOLEAN
    assert kinds(rest)["first"] is ValueKind.DATE


def test_stages_are_in_the_order_of_the_species_and_others_follow() -> None:
    def order(stages: tuple[str, ...]) -> tuple[str, ...]:
        return next(c.among for c in tables_of(COUNTED, stages)["stages"].columns if c.among)

    assert order(("egg", "L1", "adult")) == ("egg", "L1", "adult")
    assert order(("adult",)) == ("adult", "L1", "egg")
    frame = in_order(COUNTED, ["egg", "L1", "adult"]).to_frame()
    assert frame["stage"].min() == "egg"
    assert list(frame.sort_values("stage")["n"]) == [1, 3]


def test_tables_have_their_columns_whether_there_are_rows_or_not() -> None:
    empty = Counted("room", None, None, (), (), (), False)
    for name, table in tables_of(COUNTED).items():
        assert kinds(tables_of(empty)[name]) == kinds(table)
    assert len(empty.to_frame()) == 0


def test_an_answer_says_what_it_is_of_whom_and_how_much() -> None:
    told = "<Counted of room: rows of stages 2, stages.looks 1, cups 2, cups.looks 3, summary 1>"
    assert repr(COUNTED) == told
    empty = Counted("room", None, None, (), (), (), False)
    assert repr(empty) == "<Counted of room: rows of summary 1>"


class OfMany(Answer, frozen=True):
    cohorts: tuple[str | Counted, ...]


class OfSpecies(Answer, frozen=True):
    species: str


def test_a_few_cohorts_are_named_and_more_are_counted() -> None:
    assert repr(OfMany(("a", "b", "c", "d"))) == "<OfMany of a, b, c, d: rows of summary 1>"
    many = OfMany(("a", "b", "c", "d", "e", "f"))
    assert repr(many) == "<OfMany of a, b, c, d and 2 more: rows of summary 1>"
    assert repr(OfMany((COUNTED,))) == "<OfMany of room: rows of summary 1>"
    assert repr(OfSpecies("Moth test")) == "<OfSpecies of Moth test: rows of summary 1>"


class Known(Struct, frozen=True):
    id: str
    name: str
    looks: tuple[Look, ...]


class AboutKnown(Answer, frozen=True):
    cohorts: tuple[Known, ...]


def test_a_cohort_with_an_identity_is_called_by_its_label() -> None:
    every = AboutKnown((Known("1b4e", "room", (LOOK,)),)).tables()
    assert rows(every["cohorts"]) == [{"cohort": "room", "id": "1b4e"}]
    (look,) = rows(every["cohorts.looks"])
    assert (look["cohort"], look["id"], look["n"]) == ("room", "1b4e", 2)


class JustNamed(Struct, frozen=True):
    id: str
    name: str


class AboutJustNamed(Answer, frozen=True):
    cohorts: tuple[JustNamed, ...]


def test_an_identity_and_a_label_are_enough_to_be_called_by() -> None:
    (table, _) = AboutJustNamed((JustNamed("1b4e", "room"),)).tables().values()
    assert rows(table) == [{"cohort": "room", "id": "1b4e"}]


def kinds_of_answers() -> list[type]:
    paths = [f"{ROOT}{path}".rpartition(".") for names in ANSWERS.values() for path in names]
    return [getattr(import_module(module), name) for module, _, name in paths]


@pytest.mark.parametrize("kind", kinds_of_answers(), ids=lambda each: each.__name__)
def test_every_answer_is_one_and_names_a_table_of_its_own(kind: Any) -> None:
    assert issubclass(kind, Answer)
    assert kind.__repr__ is Answer.__repr__
    assert not kind.main or kind.main in {*(each.name for each in _planned(kind).all()), "in_stage"}


class OfAnything(Answer, frozen=True):
    either: str | float
    several: str | float | int | None
    of_two: tuple[str | float, ...]
    three: tuple[str, str, str]


def test_a_word_or_a_number_is_told_as_text_and_what_fits_in_no_cell_is_left_out() -> None:
    (table,) = OfAnything(1.5, 2, ("x",), ("a", "b", "c")).tables().values()
    assert rows(table) == [{"cohort": None, "either": "1.5", "several": "2"}]
    assert kinds(table) == {"cohort": TEXT, "either": TEXT, "several": TEXT}


class WithItsMain(Answer, frozen=True):
    main: ClassVar[str] = "cups"
    looks: tuple[Look, ...]
    cups: tuple[Cup, ...]


def test_the_main_table_is_the_one_that_is_said_to_be() -> None:
    answer = WithItsMain((LOOK,), (Cup(7, ()),))
    assert answer.to_frame()["n"].tolist() == [7]
    assert answer.to_frame(table="looks")["n"].tolist() == [2]


def test_a_table_is_chosen_by_its_name() -> None:
    assert COUNTED.to_frame(table="cups")["n"].tolist() == [7, 8]
    assert COUNTED.to_frame("polars", table="cups")["n"].to_list() == [7, 8]
    with pytest.raises(UsageError, match=r"no table “cup” \(there are stages, stages.looks"):
        COUNTED.to_frame(table="cup")


def test_who_speaks_says_the_caption_and_what_columns_mean(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Loud:
        def lead(self, answer: Answer) -> str:
            return f"{type(answer).__name__} & more"

        def meaning(self, kind: type, key: str) -> str:
            return f"{kind.__name__}.{key}"

    monkeypatch.setattr("rearlog.analysis.answer._speaker", None)
    assert "<caption>" not in COUNTED._repr_html_()
    speak_by(Loud())
    assert "<caption>Counted &amp; more</caption>" in COUNTED._repr_html_()
    told = {each.name: each.meaning for each in COUNTED.tables()["stages"].columns}
    assert told["limits_low"] == "Limits.low"
    assert told["range_high"] == "OfStage.range"
