"""What questions to a data set of ten million looks take, beside reading the same columns alone.

Run it with: python -m tests.benchmarks.parquet [LOOKS]
The looks are invented, of 20 schools and 5 years, and written from arrays, not through the log:
once in a file for each school and year, as a data set is kept for questions, and a tenth of them
in a file for each cohort, as `rearlog export --parquet` writes it. Each question is asked by
DuckDB three times; the middle one counts. Reading alone is what pyarrow takes to read and decode
the columns that the question needs, on as many threads.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.dataset as pds
import pyarrow.parquet as pq

from rearlog.frames.arrow import arrow_schema
from rearlog.gathering.data_set_tables import TABLES

LOOKS = 10_000_000
SITES, YEARS = 20, (2021, 2022, 2023, 2024, 2025)
STAGES = np.array(["egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult"])
EACH, DAYS = 30, 40
"""Individuals of a cohort, and days on which they are looked at."""
SEED = 1
TIMES = 3

QUESTIONS = {
    "looks and mean length of each stage, school and year": (
        "SELECT site, year, stage, COUNT(*), AVG(length_mm) FROM looks GROUP BY site, year, stage",
        ["stage", "length_mm"],
    ),
    "when each individual was first seen in each stage": (
        "SELECT COUNT(*), MAX(first) FROM (SELECT cohort_id, individual, stage, "
        "MIN(seen_at) AS first FROM looks GROUP BY cohort_id, individual, stage)",
        ["cohort_id", "individual", "stage", "seen_at"],
    ),
    "days from the first look as L5 to that as pupa, by school": (
        "SELECT site, COUNT(*), AVG(EXTRACT(EPOCH FROM p - l) / 86400) FROM (SELECT site, "
        "cohort_id, individual, MIN(CASE WHEN stage = 'L5' THEN seen_at END) AS l, "
        "MIN(CASE WHEN stage = 'pupa' THEN seen_at END) AS p FROM looks "
        "GROUP BY site, cohort_id, individual) GROUP BY site",
        ["cohort_id", "individual", "stage", "seen_at"],
    ),
}


def cohorts(rng: np.random.Generator, numbers: range, year: int) -> pa.Table:
    """The looks of some cohorts: EACH individuals on DAYS days, each at a pace of its own."""
    count = len(numbers) * EACH * DAYS
    ids = [f"{year:08d}-0000-4000-8000-{number:012d}" for number in numbers]
    of_cohort = np.repeat(np.arange(len(numbers)), EACH * DAYS)
    of_individual = np.tile(np.repeat(np.arange(EACH), DAYS), len(numbers))
    day = np.tile(np.arange(DAYS), len(numbers) * EACH)
    pace = np.repeat(rng.normal(1, 0.1, len(numbers) * EACH), DAYS)
    place = np.clip((day / (4.5 * pace)).astype(np.int64), 0, len(STAGES) - 1)
    minutes = rng.integers(0, 480, len(numbers) * DAYS)[of_cohort * DAYS + day]
    at = (
        np.datetime64(f"{year}-03-01T08:00:00", "us")
        + day.astype("timedelta64[D]")
        + minutes.astype("timedelta64[m]")
    )
    long = np.round((2 + 4.0 * place) * rng.normal(1, 0.1, count), 1)
    length = np.where(rng.random(count) < 0.2, long, np.nan)
    known = {
        "cohort_id": pa.array(ids).take(pa.array(of_cohort)),
        "cohort": pa.array([f"class {number}" for number in numbers]).take(pa.array(of_cohort)),
        "number": pa.array(np.tile(np.arange(1, EACH * DAYS + 1), len(numbers))),
        "individual": pc.cast(pa.array(of_individual + 1), pa.string()),
        "seen_at": pa.array(at, pa.timestamp("us", tz="UTC")),
        "stage": pa.array(STAGES.tolist()).take(pa.array(place)),
        "stage_place": pa.array(place + 1),
        "witnessed": pa.array(np.zeros(count, dtype=bool)),
        "same": pa.array(np.zeros(count, dtype=bool)),
        "length_mm": pa.array(length, from_pandas=True),
    }
    schema = arrow_schema(TABLES["observations"].columns)
    columns = [
        known[each.name] if each.name in known else pa.nulls(count, each.type) for each in schema
    ]
    return pa.Table.from_arrays(columns, schema=schema)


def write(folder: Path, looks: int, *, a_file_a_cohort: bool) -> int:
    """Write about so many looks, and tell how many."""
    rng = np.random.default_rng(SEED)
    each = max(1, round(looks / (SITES * len(YEARS) * EACH * DAYS)))
    written = 0
    for site in range(SITES):
        for year in YEARS:
            place = folder / f"site=School {site}" / "species=Vanessa cardui" / f"year={year}"
            place.mkdir(parents=True)
            first = site * each
            parts = range(first, first + each)
            for part in [range(n, n + 1) for n in parts] if a_file_a_cohort else [parts]:
                table = cohorts(rng, part, year)
                pq.write_table(table, place / f"{part.start:06d}.parquet")
                written += len(table)
    return written


def middle(task: Callable[[], object]) -> float:
    """Seconds of the middle one of TIMES runs."""
    taken = []
    for _ in range(TIMES):
        begun = time.perf_counter()
        task()
        taken.append(time.perf_counter() - begun)
    return median(taken)


def told(folder: Path, what: str) -> None:
    connection = duckdb.connect()
    connection.execute(
        f"CREATE VIEW looks AS SELECT * FROM read_parquet('{folder}/*/*/*/*.parquet', "
        "hive_partitioning = true)"
    )
    files = list(folder.rglob("*.parquet"))
    size = sum(each.stat().st_size for each in files) / 2**20
    looks = connection.execute("SELECT COUNT(*) FROM looks").fetchone()
    print(f"\n{what}: {looks[0] if looks else 0:,} looks, {len(files):,} files, {size:.0f} MB")
    for question, (query, columns) in QUESTIONS.items():
        asked = middle(partial(_answered, connection, query))
        alone = middle(partial(_read, folder, columns))
        print(f"{asked:8.2f} s  {alone:6.2f} s alone  {asked / alone:5.1f} times  {question}")


def _answered(connection: duckdb.DuckDBPyConnection, query: str) -> None:
    connection.execute(query).fetchall()


def _read(folder: Path, columns: list[str]) -> None:
    for batch in pds.dataset(folder, partitioning="hive").to_batches(columns=columns):
        del batch


def main() -> None:
    looks = int(sys.argv[1]) if len(sys.argv) > 1 else LOOKS
    print(f"processors: {os.cpu_count()}, load before: {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        begun = time.perf_counter()
        written = write(folder / "large", looks, a_file_a_cohort=False)
        print(f"wrote {written:,} looks in {time.perf_counter() - begun:.1f} s")
        told(folder / "large", "a file a school and year")
        write(folder / "small", looks // 10, a_file_a_cohort=True)
        told(folder / "small", "a file a cohort, a tenth of it")
    print(f"load after: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
