"""A data set that grows: what readers that know nothing of rearlog find in it."""

import json
import shutil
from datetime import timedelta
from pathlib import Path

import pandas as pd
import polars as pl
import pyarrow.parquet as pq
import pytest

from rearlog.disk.writing import write_new
from rearlog.frames import missing
from rearlog.gathering.asked_of_data_set import connected, summaries_of_data_set
from rearlog.gathering.data_set import extend, partition_folder
from rearlog.gathering.data_set_format import DESCRIPTOR
from rearlog.gathering.data_set_tables import TABLES
from rearlog.gathering.season import season
from rearlog.gathering.summaries import summaries_in, told
from rearlog.notebook import Notebook
from rearlog.records.errors import RearlogError, UsageError
from rearlog.store.layout import encode
from tests.made_seasons import START, write_season

NOW = START + timedelta(days=20)
"""While some are still to come."""
SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
ODD = "St. John's #2, 50 % é"


def moved(path: Path, site: str | None) -> None:
    """Put a cohort file down at another site."""
    tables = json.loads(path.read_text("utf-8"))
    del tables["file"]
    for cohort in tables["cohort"].values():
        cohort["site"] = site
    path.write_bytes(encode(tables))


@pytest.fixture(scope="module")
def classes(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Six invented cohorts of three sites, two of them of none that is told, one of an odd name."""
    folder = tmp_path_factory.mktemp("classes")
    paths = write_season(folder, 6, 8, sites=3, days=20)
    for place, path in enumerate(paths):
        if place % 3 < 2:
            moved(path, (ODD, None)[place % 3])
    return paths


@pytest.fixture(scope="module")
def data_set(classes: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "all-years"
    assert len(list(extend(folder, classes, NOW))) == 6
    return folder


def test_its_summaries_are_those_of_the_files(data_set: Path, classes: list[Path]) -> None:
    of_files = {each.id: each for path in classes for each in summaries_in(path, NOW)}
    found = summaries_of_data_set(data_set)
    assert {each.id: each for each in found} == of_files
    assert {each.site for each in found} == {ODD, None, "School 3"}
    assert any(each.coming for each in found)


def test_a_season_of_it_is_that_of_the_files(data_set: Path, classes: list[Path]) -> None:
    """Exactly, down to the last digit."""
    assert season([data_set], now=NOW) == season(classes, now=NOW)
    twice = season([data_set, *classes], now=NOW)
    assert twice.species == season(classes, now=NOW).species
    assert len(twice.copies) == 6
    above = season([data_set.parent], now=NOW)
    assert above == season(classes, now=NOW)


@pytest.mark.parametrize("name", TABLES)
def test_every_reader_finds_the_same_rows_and_the_described_columns(
    data_set: Path, name: str
) -> None:
    described = json.loads((data_set / DESCRIPTOR).read_text("utf-8"))
    columns = [
        each["name"]
        for table in described["tables"] if table["name"] == name for each in table["columns"]
    ]  # fmt: skip
    with connected(data_set) as connection:
        rows = connection.execute(f"SELECT COUNT(*) FROM {name}").fetchone()[0]
        of_duckdb = connection.execute(f"SELECT * FROM {name} LIMIT 0").description
    of_polars = pl.scan_parquet(f"{data_set}/{name}", hive_partitioning=True).collect()
    of_pandas = pd.read_parquet(data_set / name)
    assert len(of_polars) == len(of_pandas) == rows
    assert rows or name == "temperatures"
    for found in ([each[0] for each in of_duckdb], of_polars.columns, list(of_pandas.columns)):
        assert found == [*columns, "site", "species", "year"]
    assert set(of_polars["year"]) <= {START.year}
    if rows:
        assert set(of_polars["site"]) == set(of_pandas["site"]) <= {ODD, "(none)", "School 3"}


def test_columns_have_the_types_that_are_described(data_set: Path) -> None:
    types = {"text": "string", "integer": "int64", "float": "double", "boolean": "bool",
             "UTC instant": "timestamp[us, tz=UTC]", "date": "date32[day]"}  # fmt: skip
    described = json.loads((data_set / DESCRIPTOR).read_text("utf-8"))
    assert (described["format"], described["version"]) == ("rearlog/data-set", 2)
    for table in described["tables"]:
        for path in (data_set / table["name"]).rglob("*.parquet"):
            schema = pq.ParquetFile(path).schema_arrow
            assert [str(each.type) for each in schema] == [
                types[each["type"]] for each in table["columns"]
            ]
        assert all(each["meaning"] for each in table["columns"])


def test_lives_and_stages_are_those_of_the_answers(tmp_path: Path) -> None:
    list(extend(tmp_path / "set", [SAMPLES / "warm.json"], NOW))
    warm = Notebook(SAMPLES / "warm.json")
    with connected(tmp_path / "set") as connection:
        ends = connection.execute(
            "SELECT fate, COUNT(*), SUM(reached_last::INT) FROM lifetimes GROUP BY 1 ORDER BY 1"
        ).fetchall()
        places = dict(connection.execute("SELECT stage, stage_place FROM stage_times").fetchall())
        times = connection.execute("SELECT days, high FROM lifetimes WHERE died").fetchall()
    # 7 of the 24 died, as the README shows, and the others were taken out as adults
    assert ends == [("dead", 7, 0), ("removed", 17, 17)]
    assert places == {
        code: place for place, code in enumerate(warm.log.cohort.species.codes, 1) if place < 8
    }
    assert all(days == high for days, high in times)


def test_a_cohort_takes_the_place_of_what_was_there_of_it(tmp_path: Path) -> None:
    (path,) = write_season(tmp_path / "a", 1, 4, sites=1, days=10)
    folder = tmp_path / "set"
    (first,) = extend(folder, [path], NOW)
    kept = {each: each.read_bytes() for each in folder.rglob("*.parquet")}
    list(extend(folder, [path], NOW))
    assert {each: each.read_bytes() for each in folder.rglob("*.parquet")} == kept
    moved(path, "School 2")
    (second,) = extend(folder, [path], NOW)
    assert first.folder.startswith("site=School 1/")
    assert second.folder.startswith("site=School 2/")
    (found,) = summaries_of_data_set(folder)
    assert found.site == "School 2"
    assert len(list(folder.rglob("*.parquet"))) == len(kept) == len(TABLES)
    # two copies at once, of which the last stays
    copy = tmp_path / "copy.json"
    shutil.copy(path, copy)
    moved(copy, "School 3")
    list(extend(folder, [path, copy], NOW))
    assert [each.site for each in summaries_of_data_set(folder)] == ["School 3"]


def test_what_cannot_be_written_leaves_the_cohort_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (path,) = write_season(tmp_path / "a", 1, 4, days=10)
    folder = tmp_path / "set"
    list(extend(folder, [path], NOW))
    kept = {each: each.read_bytes() for each in folder.rglob("*") if each.is_file()}
    left = iter(range(4))

    def full(*given: object, **named: object) -> None:
        if next(left, None) is None:
            raise OSError(28, "No space left on device")
        write_new(*given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr("rearlog.gathering.data_set.write_new", full)
    with pytest.raises(RearlogError, match="no space left on device; nothing changed"):
        list(extend(folder, [path], NOW))
    assert {each: each.read_bytes() for each in folder.rglob("*") if each.is_file()} == kept


def test_names_and_notes_stay_out_where_that_is_asked_for(tmp_path: Path) -> None:
    room = SAMPLES / "room.json"
    for given, names in (("named", True), ("nameless", False)):
        list(extend(tmp_path / given, [room], NOW, names=names))
    with connected(tmp_path / "named") as one, connected(tmp_path / "nameless") as other:
        question = "SELECT COUNT(seen_by) FROM observations"
        assert one.execute(question).fetchone()[0] > 0
        assert other.execute(question).fetchone()[0] == 0
        assert other.execute("SELECT DISTINCT place, site FROM cohorts").fetchall() == [
            (None, "(none)")
        ]


def test_other_folders_and_other_versions_are_refused(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(UsageError, match="has other files in it"):
        list(extend(tmp_path, [SAMPLES / "room.json"], NOW))
    folder = tmp_path / "set"
    list(extend(folder, [SAMPLES / "room.json"], NOW))
    said = (folder / DESCRIPTOR).read_text("utf-8")
    (folder / DESCRIPTOR).write_text(said.replace('"version": 2', '"version": 3'), "utf-8")
    with pytest.raises(UsageError, match="is a data set of version 3, not 2"):
        list(extend(folder, [SAMPLES / "room.json"], NOW))
    assert "version 3" in told(folder, NOW)
    (folder / DESCRIPTOR).write_text("{}", "utf-8")
    with pytest.raises(UsageError, match="cannot be read"):
        summaries_of_data_set(folder)


def test_a_library_that_is_not_there_is_told_with_what_installs_it(
    data_set: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(name: str) -> None:
        raise ModuleNotFoundError(f"No module named {name!r}", name=name)

    monkeypatch.setattr(missing, "import_module", none)
    with pytest.raises(UsageError, match=r"needs pyarrow, which is not installed \(pip install"):
        list(extend(tmp_path / "set", [SAMPLES / "room.json"], NOW))
    assert not (tmp_path / "set").exists()
    assert told(data_set, NOW) == (
        "this needs duckdb, which is not installed (pip install 'rearlog[season]')"
    )


def test_folders_are_named_as_is_the_custom() -> None:
    folder = partition_folder("A/B: 1%", "Vanessa cardui", 2026)
    assert folder == "site=A%2FB%3A 1%25/species=Vanessa cardui/year=2026"
    assert partition_folder(None, "x", 1999).startswith("site=(none)/")
