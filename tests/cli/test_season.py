"""`season`: any number of cohorts, told one by one and together."""

import csv
import io
import json
from pathlib import Path

import pytest

from rearlog.present import season as season_tables
from tests.cli.conftest import Run
from tests.made_seasons import write_season


@pytest.fixture
def classes(folder: Path) -> Path:
    write_season(folder / "classes", 10, 12, sites=3, days=50)
    return folder / "classes"


def test_a_line_for_each_cohort_under_one_sentence(run: Run, classes: Path) -> None:
    told = run("season", "classes", "--cache", "kept").stdout
    lead, _, rest = told.partition("\n\n")
    assert " ".join(lead.split()).startswith(
        "Vanessa cardui, 10 cohorts at 3 sites, 18.4 to 26.6 °C: it took "
    )
    rows = [line for line in rest.splitlines() if " School " in line]
    assert len(rows) == 10
    assert sum("of 12" in each for each in rows) == 10
    assert "egg to adult" in rest
    assert "Sites differ by " in rest
    assert run("season", "classes", "--cache", "kept").stdout == told


def test_a_row_for_each_site(run: Run, classes: Path) -> None:
    rows = list(
        csv.DictReader(
            io.StringIO(run("season", "classes", "--by", "site", "--format", "csv").stdout)
        )
    )
    assert [each["site"] for each in rows] == ["School 1", "School 2", "School 3"]
    assert [each["cohorts"] for each in rows] == ["4", "3", "3"]
    assert {each["species"] for each in rows} == {"Vanessa cardui"}
    assert float(rows[0]["days_low"]) < float(rows[0]["days_mean"]) < float(rows[0]["days_high"])
    told = run("season", "classes", "--by", "site").stdout
    assert "School 2" in told
    assert "looks missed" not in told


def test_files_for_programs(run: Run, classes: Path) -> None:
    found = json.loads(run("season", "classes", "--format", "json").stdout)
    assert found["schema"] == "rearlog/season"
    assert len(found["cohorts"]) == 10
    assert found["lead"].startswith("Vanessa cardui, 10 cohorts at 3 sites")
    rows = list(csv.DictReader(io.StringIO(run("season", "classes", "--format", "csv").stdout)))
    assert [each["id"] for each in rows] == [each["id"] for each in found["cohorts"]]
    assert [each["site"] for each in rows] == sorted(each["site"] for each in rows)


def test_damage_is_named_and_the_others_are_answered(run: Run, classes: Path) -> None:
    (classes / "broken.json").write_bytes(b'{"file":{')
    (first, *_) = sorted(classes.rglob("0*.json"))
    (classes / "copy.json").write_bytes(first.read_bytes())
    told = run("season", "classes", fails=1)
    assert "passed over: classes/broken.json" in told.stderr
    assert "was met more than once and counts once" in told.stderr
    assert "was met more than once" not in told.stdout
    assert "passed over" not in told.stdout
    assert told.stdout.startswith("Vanessa cardui, 10 cohorts")
    assert run("season", "classes", "--quiet", fails=1).stderr == ""
    only = run("season", "classes/broken.json", fails=1)
    assert only.stdout == ""


def test_where_there_is_nothing(run: Run, folder: Path) -> None:
    (folder / "empty").mkdir()
    assert run("season", "empty", fails=2).stderr == (
        "Error: there are no cohorts in empty (name cohort files, or their folder)\n"
    )
    assert "gone.json: there is no such file or folder" in run("season", "gone", fails=2).stderr


def test_a_cohort_may_be_named(run: Run, room: Path, folder: Path) -> None:
    named = run("season", "room", "--format", "json").stdout
    assert named == run("season", "room.json", "--format", "json").stdout


def test_of_many_those_are_listed_that_stand_out(
    run: Run, classes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(season_tables, "MOST_LINES", 9)
    assert "10 more cohorts: all of them with --full" in run("season", "classes").stdout
    full = run("season", "classes", "--full").stdout
    assert full.count(" School ") >= 10
    assert "more cohorts: all of them" not in full
    monkeypatch.setattr(season_tables, "MOST_LINES", 10)
    assert "more cohorts" not in run("season", "classes").stdout


def test_charts_take_folders(run: Run, classes: Path, folder: Path) -> None:
    for kind in ("means", "funnel"):
        told = run("chart", kind, "classes", "-o", f"{kind}.svg").stderr
        assert f"Drew {kind} in {kind}.svg" in told
        assert (folder / f"{kind}.svg").is_file()
    run("chart", "means", "classes", "-o", "egg.svg", "--stage", "egg")
    assert "Days, egg" in (folder / "egg.svg").read_text(encoding="utf-8")
    told = run("chart", "means", "classes", "-o", "x.svg", "--stage", "larva", fails=2).stderr
    assert "there is no mean of “larva” (stages with means: egg, L1," in told
    assert (
        "as they are now"
        in run("chart", "funnel", "classes", "-o", "x.svg", "--as-of", "2026-04-01", fails=2).stderr
    )


def test_a_season_is_invented(run: Run, folder: Path) -> None:
    words = ("--species", "painted-lady", "--eggs", "5", "--temp", "24", "--on", "2026-03-02",
             "--zone", "UTC")  # fmt: skip
    told = run("simulate", "spring", *words, "--classes", "12").stderr
    assert "Invented 12 cohorts of painted lady in spring (seed 1)." in told
    assert len(list((folder / "spring").glob("*.json"))) == 12
    found = json.loads(run("season", "spring", "--format", "json").stdout)
    assert found["sites"] == 3
    names = [each["name"] for each in found["cohorts"]]
    assert [each for each in names if each.startswith("room")] == [
        "room (School 1)", "room (School 3)"
    ]  # fmt: skip
    assert "class-12" in names
    warmth = [each["celsius"] for each in found["cohorts"]]
    assert len(set(warmth)) > 8
    assert 20 < min(warmth) < 23.5 < max(warmth) < 28
    again = run("simulate", "spring", *words, "--classes", "12", fails=2).stderr
    assert "spring exists already" in again
    run("simulate", "autumn", *words, "--classes", "12")
    other = json.loads(run("season", "autumn", "--format", "json").stdout)
    assert other["cohorts"] == found["cohorts"]
    (folder / "t.csv").write_text("date,min_c,max_c\n2026-03-01,20,24\n", encoding="utf-8")
    measured = (*words[:4], "--temps", "t.csv", *words[8:])
    told = run("simulate", "x", *measured, "--classes", "3", fails=2).stderr
    assert "classes differ in their temperature" in told
