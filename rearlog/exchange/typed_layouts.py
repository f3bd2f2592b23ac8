"""The tidy tables of records with types, for data frames, Arrow and Parquet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain

from rearlog.exchange.layouts import INDIVIDUALS, OBSERVATIONS, TEMPERATURES
from rearlog.exchange.log_tables import individual_rows, observation_rows, temperature_rows
from rearlog.exchange.tables import Kind, Layout
from rearlog.frames.columns import TypedColumn, ValueKind, stage_order
from rearlog.frames.typed import TypedTable, of_rows
from rearlog.records.derived_stages import StagesOf, derived_stages
from rearlog.records.log import CohortLog

_KINDS: dict[Kind, ValueKind] = {
    "string": ValueKind.TEXT,
    "number": ValueKind.FLOAT,
    "integer": ValueKind.INTEGER,
    "boolean": ValueKind.BOOLEAN,
    "date": ValueKind.DATE,
    "datetime": ValueKind.INSTANT,
}


def typed_columns(layout: Layout, stages: Sequence[str]) -> tuple[TypedColumn, ...]:
    """The columns of a layout; that of the stage is in the order of `stages`."""
    return tuple(
        TypedColumn(each.name, ValueKind.ORDERED, each.description, among=tuple(stages))
        if each.name == "stage"
        else TypedColumn(each.name, _KINDS[each.kind], each.description, each.unit)
        for each in layout.columns
    )


def stages_of(logs: Iterable[CohortLog]) -> tuple[str, ...]:
    """The stages of the species of some logs, in one order."""
    return stage_order(dict.fromkeys(log.cohort.species.codes for log in logs))


def typed_observations(
    logs: Sequence[CohortLog], stages_of_log: StagesOf = derived_stages
) -> TypedTable:
    """The observations that stand, as written; `stages_of_log` tells those of “no change”."""
    columns = typed_columns(OBSERVATIONS, stages_of(logs))
    rows = (row for log in logs for row in observation_rows(log, stages_of_log(log)))
    return of_rows(OBSERVATIONS.name, columns, rows)


def typed_individuals(logs: Sequence[CohortLog]) -> TypedTable:
    """The individuals, in the order in which they were entered."""
    columns = typed_columns(INDIVIDUALS, stages_of(logs))
    return of_rows(INDIVIDUALS.name, columns, chain.from_iterable(map(individual_rows, logs)))


def typed_temperatures(logs: Sequence[CohortLog]) -> TypedTable:
    """The temperatures, in the order of writing; a run of readings takes a row a reading."""
    columns = typed_columns(TEMPERATURES, stages_of(logs))
    return of_rows(TEMPERATURES.name, columns, chain.from_iterable(map(temperature_rows, logs)))
