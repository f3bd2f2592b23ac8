"""The tables of a data set that grows: what each column holds, said once, and the rows of a cohort.

A table keeps its columns for as long as its VERSION stays. Stages are text, with their place in
the order of the species beside them, since a data set may be of several species.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from types import UnionType
from typing import Any, get_args, get_type_hints

from msgspec import Struct
from msgspec.structs import asdict, replace

from rearlog.analysis.arrays import finite
from rearlog.analysis.pooling.cohort_summary import CohortSummary, ExpectedAdults, StageSummary
from rearlog.analysis.stages.events import FATE_NAMES
from rearlog.analysis.stages.settled_stages import settled_stages
from rearlog.analysis.survival.watch import watched
from rearlog.exchange.layouts import COHORTS, DURATIONS, INDIVIDUALS, OBSERVATIONS, TEMPERATURES
from rearlog.exchange.log_tables import (
    cohort_row,
    individual_rows,
    observation_rows,
    row_of,
    temperature_rows,
)
from rearlog.exchange.tables import Layout
from rearlog.exchange.typed_layouts import typed_columns
from rearlog.frames.columns import TypedColumn, ValueKind
from rearlog.notebook.cohort import Notebook
from rearlog.records.log import CohortLog

VERSION = 2
"""Raised whenever a column is taken away, renamed, or means something else."""

PARTITIONS = ("site", "species", "year")
"""The folders in which the files of a table lie: site=…/species=…/year=…."""

NO_SITE = "(none)"
"""The site of cohorts of which none is told: what has no value at all, some readers of folders of
Parquet do not put beside what has."""

RENAMED = {"at": "seen_at", "by": "seen_by"}
"""What tidy tables call by a word of SQL has another name here, so that nobody has to quote it."""

Row = Mapping[str, Any]


class DataSetTable(Struct, frozen=True):
    """A table of the data set: what its rows are, and its columns."""

    name: str
    meaning: str
    columns: tuple[TypedColumn, ...]


_ID = TypedColumn("cohort_id", ValueKind.TEXT, "UUID of the cohort.")
_LABEL = TypedColumn("cohort", ValueKind.TEXT, "What the cohort is called; not always its own.")
_PLACE = TypedColumn(
    "stage_place", ValueKind.INTEGER, "Place of the stage in the order of the species, from 1."
)


def _of_layout(layout: Layout, name: str, without: Iterable[str] = ()) -> DataSetTable:
    """A tidy table with the identity of the cohort, and the place of the stage beside it."""
    gone = {"cohort", *without}
    columns = [_ID, _LABEL]
    for each in typed_columns(layout, ()):
        if each.name in gone:
            continue
        if each.kind is ValueKind.ORDERED:
            columns += [TypedColumn(each.name, ValueKind.TEXT, each.meaning), _PLACE]
        else:
            columns.append(replace(each, name=RENAMED.get(each.name, each.name)))
    return DataSetTable(name, layout.description, tuple(columns))


_LIFETIMES = DataSetTable(
    "lifetimes",
    "One row an individual: how long it was watched from its entry on, and what became of it. One "
    "that died did so between the ages low and high.",
    (
        _ID,
        _LABEL,
        TypedColumn("individual", ValueKind.TEXT, "Code of the individual."),
        TypedColumn("fate", ValueKind.TEXT, "What became of it: alive, dead, lost or removed."),
        TypedColumn("stage", ValueKind.TEXT, "The last stage that it was seen in."),
        _PLACE,
        TypedColumn("reached_last", ValueKind.BOOLEAN, "Whether that is the last stage of all."),
        TypedColumn("died", ValueKind.BOOLEAN, "Whether it was found dead."),
        TypedColumn("days", ValueKind.FLOAT, "From its entry until it was last watched.", "days"),
        TypedColumn("low", ValueKind.FLOAT, "It lived at least so long.", "days"),
        TypedColumn("high", ValueKind.FLOAT, "It lived at most so long; none if alive.", "days"),
    ),
)

_MEANINGS = {
    "last_stage": "The last stage of the species.",
    "started": "The day on which it was started.",
    "last_look": "The day of the last look.",
    "invented": "Whether the records are invented.",
    "individuals": "How many individuals there are.",
    "dead": "How many were found dead.",
    "lost": "How many were lost.",
    "removed": "How many were taken out alive.",
    "alive": "How many live.",
    "known": "Of how many it is known whether they came into the last stage.",
    "reached": "How many of these did.",
    "waiting": "How many may yet come into it.",
    "gone": "How many were lost or taken out before.",
    "celsius": "The mean temperature while it was watched, or in the stage.",
    "looks": "How many looks stand.",
    "due": "How many looks there were to be, one a day.",
    "missed": "How many of these were not made.",
    "doubtful": "How many individuals have looks that contradict each other.",
    "struck_temperatures": "How many records of temperature were struck out.",
    "as_of": "The day from which what is to come counts; none where nothing is.",
    "earliest": "The earliest day on which the last adults should come.",
    "likely": "The likely day on which the last adults should come.",
    "latest": "The latest day on which the last adults should come.",
    "stage": "The stage, or the whole development (from first to last).",
    "entered": "How many entered the stage.",
    "completed": "How many completed it.",
    "died": "How many died in it.",
    "in_stage": "How many are in it.",
    "mean": "The mean of those that completed it.",
    "sd": "The standard deviation of these.",
    "se": "The standard error of the mean, with that of the checks.",
    "freedom": "Degrees of freedom of that error.",
    "date": "The day.",
    "adults": "How many adults more are expected on it.",
}
_UNITS = {"celsius": "°C", "mean": "days", "sd": "days", "se": "days"}
_KINDS = {
    str: ValueKind.TEXT,
    int: ValueKind.INTEGER,
    float: ValueKind.FLOAT,
    bool: ValueKind.BOOLEAN,
    date: ValueKind.DATE,
}
_IN_FOLDERS_OR_FIRST = {"id", "name", "site", "species"}


def _of_results(kind: type[Struct], name: str, meaning: str) -> DataSetTable:
    """The plain fields of a result as columns."""
    hints = get_type_hints(kind)
    columns = [_ID, _LABEL]
    for field in kind.__struct_fields__:
        plain = _plain(hints[field])
        if field not in _IN_FOLDERS_OR_FIRST and plain in _KINDS:
            columns.append(TypedColumn(field, _KINDS[plain], _MEANINGS[field], _UNITS.get(field)))
            columns += [_PLACE] if field == "stage" else []
    return DataSetTable(name, meaning, tuple(columns))


def _plain(hint: Any) -> Any:
    """The type of a value that may be None."""
    if isinstance(hint, UnionType):
        return next(each for each in get_args(hint) if each is not type(None))
    return hint


TABLES = {
    each.name: each
    for each in (
        _of_layout(COHORTS, "cohorts", ("id", "label", "profile", "site", "scientific_name")),
        _of_layout(INDIVIDUALS, "individuals"),
        _of_layout(OBSERVATIONS, "observations"),
        _of_layout(TEMPERATURES, "temperatures"),
        _LIFETIMES,
        _of_layout(DURATIONS, "stage_times"),
        _of_results(CohortSummary, "summaries", "One row a cohort: it in a few numbers."),
        _of_results(
            StageSummary,
            "stage_summaries",
            "One row a stage of a cohort, and one for its whole development, the last.",
        ),
        _of_results(ExpectedAdults, "expected", "One row a day on which adults are expected."),
    )
}


def rows_of(
    notebook: Notebook, summary: CohortSummary, left_out: Iterable[str] = ()
) -> dict[str, list[Row]]:
    """The rows of every table of one cohort, of which this is the summary; fields that are
    `left_out` are empty."""
    log = notebook.log
    first = {"cohort_id": log.cohort.id, "cohort": log.cohort.name}
    durations = notebook.durations().individuals
    rows: dict[str, Iterable[Row]] = {
        "cohorts": [cohort_row(log.cohort, "")],
        "individuals": individual_rows(log),
        "observations": observation_rows(log, settled_stages(log)),
        "temperatures": temperature_rows(log),
        "lifetimes": _lifetimes(notebook),
        "stage_times": (row_of(each, DURATIONS, cohort=log.cohort.name) for each in durations),
        "summaries": [asdict(summary)],
        "stage_summaries": map(asdict, summary.stages),
        "expected": map(asdict, summary.coming),
    }
    same = first | dict.fromkeys(left_out)
    return {name: list(_placed(own, same, log)) for name, own in rows.items()}


def _placed(rows: Iterable[Row], same: Row, log: CohortLog) -> Iterator[Row]:
    places = {code: place for place, code in enumerate(log.cohort.species.codes, start=1)}
    for row in rows:
        whole = {**row, **same, "stage_place": places.get(row.get("stage", ""))}
        yield {RENAMED.get(name, name): value for name, value in whole.items()}


def _lifetimes(notebook: Notebook) -> Iterator[Row]:
    history = notebook.event_history
    seen = watched(history)
    last = len(history.stages) - 1
    for place, code in enumerate(history.codes):
        rank = int(history.last_rank[place])
        yield {
            "individual": code,
            "fate": FATE_NAMES[int(history.fate[place])],
            "stage": history.stages[rank],
            "reached_last": rank == last,
            "died": bool(seen.died[place]),
            "days": float(seen.days[place]),
            "low": float(seen.low[place]),
            "high": finite(seen.high[place]),
        }
