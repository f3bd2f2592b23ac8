"""What a data set tells of its cohorts, asked by DuckDB."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct

from rearlog.analysis.pooling.cohort_summary import CohortSummary, ExpectedAdults, StageSummary
from rearlog.frames.missing import library
from rearlog.gathering.data_set_format import refuse_other_versions
from rearlog.gathering.data_set_tables import NO_SITE, TABLES

_TYPES = "{'site': VARCHAR, 'species': VARCHAR, 'year': BIGINT}"


def summaries_of_data_set(folder: Path) -> tuple[CohortSummary, ...]:
    """The summaries of all cohorts in a data set, as they were when each was exported.

    Raises UsageError for another version, and without duckdb.
    """
    refuse_other_versions(folder)
    stages: defaultdict[str, list[StageSummary]] = defaultdict(list)
    for row in _asked(folder, "stage_summaries", "cohort_id, stage_place NULLS LAST"):
        stages[row["cohort_id"]].append(StageSummary(**_of(StageSummary, row)))
    coming: defaultdict[str, list[ExpectedAdults]] = defaultdict(list)
    for row in _asked(folder, "expected", "cohort_id, date"):
        coming[row["cohort_id"]].append(ExpectedAdults(**_of(ExpectedAdults, row)))
    return tuple(
        CohortSummary(
            **_of(CohortSummary, row) | {"site": None if row["site"] == NO_SITE else row["site"]},
            id=row["cohort_id"],
            name=row["cohort"],
            stages=tuple(stages[row["cohort_id"]]),
            coming=tuple(coming[row["cohort_id"]]),
        )
        for row in _asked(folder, "summaries", "cohort_id")
    )


def connected(folder: Path) -> Any:
    """A connection of DuckDB in which every table of a data set is a view of its name."""
    found = library("duckdb").connect()
    for table in TABLES:
        pattern = str(folder / table / "*/*/*/*.parquet").replace("'", "''")
        found.execute(
            f"CREATE VIEW {table} AS SELECT * FROM read_parquet('{pattern}', "
            f"hive_partitioning = true, hive_types = {_TYPES})"
        )
    return found


def _asked(folder: Path, table: str, order: str) -> Iterator[dict[str, Any]]:
    with connected(folder) as connection:
        answer = connection.execute(f"SELECT * FROM {table} ORDER BY {order}")
        names = [each[0] for each in answer.description]
        for row in answer.fetchall():
            yield dict(zip(names, row, strict=True))


def _of(kind: type[Struct], row: dict[str, Any]) -> dict[str, Any]:
    """The fields of a result that are columns."""
    return {name: row[name] for name in kind.__struct_fields__ if name in row}
