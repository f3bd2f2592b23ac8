"""The queries of the page on SQL, run as they stand by two engines, beside our own answers."""

import re
from collections import Counter
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from rearlog.analysis.pooling.random_effects import Estimator, random_effects
from rearlog.gathering.asked_of_data_set import connected
from rearlog.gathering.data_set import extend
from rearlog.gathering.data_set_tables import TABLES
from rearlog.gathering.summaries import summary_of
from rearlog.notebook import Notebook
from tests.consoles import DOCUMENTS
from tests.made_seasons import START

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
NOTEBOOKS = [Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
PAGE = (DOCUMENTS / "questions-in-sql.md").read_text("utf-8")
_UNDER_A_HEADING = re.compile(r"^## ([^\n]+)\n(?:(?!^## ).)*?^```sql\n(.*?)^```$", re.S | re.M)
QUERIES: dict[str, str] = dict(_UNDER_A_HEADING.findall(PAGE))

Rows = list[tuple[Any, ...]]


@pytest.fixture(scope="module")
def data_set(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "set"
    list(extend(folder, [each.path for each in NOTEBOOKS], START))
    return folder


def asked(data_set: Path, title: str) -> Rows:
    """The rows of a query, which must be the same by both engines."""
    with connected(data_set) as connection:
        answer = connection.execute(QUERIES[title])
        columns, rows = [each[0] for each in answer.description], answer.fetchall()
    scans = {name: pl.scan_parquet(f"{data_set}/{name}", hive_partitioning=True) for name in TABLES}
    by_polars = pl.SQLContext(scans).execute(QUERIES[title]).collect()
    assert by_polars.columns == columns
    assert len(by_polars) == len(rows) > 0
    for one, other in zip(rows, by_polars.rows(), strict=True):
        assert list(one) == [pytest.approx(each) for each in other]
    return rows


def test_every_query_of_the_page_is_held_to_an_answer() -> None:
    assert len(QUERIES) == PAGE.count("```sql") == 7


def test_how_many_became_adults(data_set: Path) -> None:
    reached = [each.survival().reached for each in NOTEBOOKS]
    died = sum(summary_of(each, START).dead for each in NOTEBOOKS)
    sites = {each.log.cohort.site or "(none)" for each in NOTEBOOKS}
    (row,) = asked(data_set, "How many became adults?")
    assert row == (*sites, "Vanessa cardui", 2026, 72, sum(each.reached for each in reached), died)


def test_how_long_the_stages_took(data_set: Path) -> None:
    expected = {
        (each.log.cohort.id, stage.stage): (stage.completed, stage.mean)
        for each in NOTEBOOKS for stage in each.durations().stages
    }  # fmt: skip
    rows = asked(data_set, "How long did the stages take?")
    assert {row[:2]: row[2:4] for row in rows} == {
        key: (n, pytest.approx(mean, rel=1e-12)) for key, (n, mean) in expected.items()
    }
    ids = [each.log.cohort.id for each in NOTEBOOKS]
    assert [row[1] for row in rows] == 3 * ["egg", "L1", "L2", "L3", "L4", "L5", "pupa"]
    assert [row[0] for row in rows[::7]] == sorted(ids)


def test_how_much_heat_they_needed(data_set: Path) -> None:
    expected = {
        (each.log.cohort.id, stage.stage): (stage.n, pytest.approx(stage.mean, rel=1e-12))
        for each in NOTEBOOKS for stage in each.heat().stages
    }  # fmt: skip
    rows = asked(data_set, "How much heat did they need?")
    assert {row[:2]: row[2:] for row in rows} == expected


def test_in_which_stage_they_died(data_set: Path) -> None:
    expected: Counter[str] = Counter()
    for each in NOTEBOOKS:
        expected += Counter({row.stage: row.died for row in each.survival().stage_table})
    rows = asked(data_set, "In which stage did they die?")
    assert dict(rows) == dict(expected)
    codes = NOTEBOOKS[0].log.cohort.species.codes
    assert [row[0] for row in rows] == [code for code in codes if code in expected]


def test_how_long_a_stage_takes_over_all_cohorts(data_set: Path) -> None:
    pupae = [
        next(each for each in summary_of(notebook, START).stages if each.stage == "pupa")
        for notebook in NOTEBOOKS
    ]
    expected = random_effects(
        [each.mean or 0 for each in pupae],
        [each.se or 0 for each in pupae],
        Estimator.DERSIMONIAN_LAIRD,
    )
    (row,) = asked(data_set, "How long does a stage take over all cohorts?")
    assert row[0] == 3
    assert row[1] == pytest.approx(expected.mean, rel=1e-9)
    assert row[3] == pytest.approx(expected.tau, rel=1e-9)
    # by hand: each weighs 1 / (se² + τ²)
    weights = [1 / ((each.se or 0) ** 2 + expected.tau**2) for each in pupae]
    assert row[2] == pytest.approx(sum(weights) ** -0.5, rel=1e-9)


def test_which_were_not_looked_at_every_day(data_set: Path) -> None:
    missed = [(each.log.cohort.id, each.completeness()) for each in NOTEBOOKS]
    rows = asked(data_set, "Which cohorts were not looked at every day?")
    assert sorted(rows) == sorted((id, each.missed, each.due) for id, each in missed if each.missed)
    assert [row[1] for row in rows] == sorted((row[1] for row in rows), reverse=True)


def test_what_the_temperature_was(data_set: Path) -> None:
    rows = asked(data_set, "What was the temperature while they were watched?")
    assert [row[0] for row in rows] == [each.log.cohort.id for each in NOTEBOOKS]
    assert [row[1] for row in rows] == [pytest.approx(each.celsius) for each in NOTEBOOKS]
