"""`rearlog reproduction` of one cohort and of several."""

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts" / "life_table"
DOCK = [str(SAMPLES / f"dock-{celsius}.json") for celsius in (19, 22, 25)]


def test_one_cohort_is_told_in_a_sentence_and_a_table(run: Run) -> None:
    out = run("reproduction", DOCK[1]).stdout
    assert out.splitlines()[0].startswith("Each egg in dock-22 was followed by 82 eggs")
    assert "eggs for each egg (R0)" in out
    assert "life table by age in days" not in out
    assert "laid at x + 0.5" in out


def test_tables_by_age_are_shown_when_asked_for(run: Run) -> None:
    out = run("reproduction", DOCK[1], "--ages").stdout
    assert "life table by age in days" in out
    assert "by age and stage" not in out
    assert "by age and stage" in run("reproduction", DOCK[1], "--stages").stdout


def test_json_has_what_python_has(run: Run) -> None:
    told = json.loads(run("reproduction", DOCK[1], "--format", "json").stdout)
    assert told["egg_age"] == "x + 0.5"
    r0 = next(each for each in told["estimates"] if each["measure"] == "R0")
    assert r0["estimate"] == pytest.approx(82.2, abs=0.05)
    assert told["life_table"][0]["v"] == pytest.approx(1.0)
    assert told["lead"].startswith("Each egg in dock-22")
    both = json.loads(run("reproduction", *DOCK[:2], "--format", "json").stdout)
    assert [each["cohort"] for each in both["cohorts"]] == ["dock-19", "dock-22"]
    assert {"measure", "first", "second", "difference", "p"} <= set(both["pairs"][0])


def rows(text: str) -> list[dict[str, str]]:
    return [*csv.DictReader(io.StringIO(text))]


def test_csv_is_one_list_at_a_time(run: Run) -> None:
    figures = rows(run("reproduction", *DOCK, "--format", "csv").stdout)
    assert {each["cohort"] for each in figures} == {"dock-19", "dock-22", "dock-25"}
    ages = rows(run("reproduction", DOCK[0], "--ages", "--format", "csv").stdout)
    assert [each["x"] for each in ages] == [str(x) for x in range(len(ages))]
    assert float(ages[0]["l"]) == 1.0
    stages = rows(run("reproduction", DOCK[0], "--stages", "--format", "csv").stdout)
    assert stages[0]["stage"] == "egg"
    error = run("reproduction", DOCK[0], "--ages", "--stages", "--format", "csv", fails=2)
    assert "two lists" in error.stderr


def test_eggs_can_count_at_the_start_of_their_day(run: Run) -> None:
    told = [
        json.loads(run("reproduction", DOCK[2], "--eggs-at", at, "--format", "json").stdout)
        for at in ("x", "x+0.5")
    ]
    early, middle = (
        {each["measure"]: each["estimate"] for each in one["estimates"]} for one in told
    )
    assert early["Tc"] == pytest.approx(middle["Tc"] - 0.5)
    assert early["r"] > middle["r"]
    assert early["R0"] == middle["R0"]


def test_what_cannot_be_told_is_said_in_a_line(run: Run) -> None:
    room = str(SAMPLES.parent / "room.json")
    error = run("reproduction", room, fails=2).stderr
    assert error.splitlines()[0].startswith("Error: no eggs were counted in room")
    assert "given twice" in run("reproduction", DOCK[0], DOCK[0], fails=2).stderr


def test_sexes_are_the_same_in_life_tables_and_in_survival(run: Run) -> None:
    run("start", "v", "--species", "painted-lady", "--eggs", "6", "--on", "2026-03-01")
    for day, line in (
        ("22", "all adult"),
        ("25", "2 same eggs=50"),
        ("26", "1 same sex=f eggs=10; 2 same sex=m; 3 same sex=f; 4 same sex=m"),
        ("27", "3 same sex=m"),
        ("27", "5-6 same mate=cage-1"),
        ("28", "cage-1 same eggs=8 hatched=3; 5 dead"),
        ("30", "1-4,6 dead"),
    ):
        run("log", "v", line, "--on", f"2026-03-{day}")
    told = json.loads(run("reproduction", "v", "--format", "json").stdout)
    assert [told[each] for each in ("females", "males", "unsexed")] == [1, 2, 3]
    assert [told[each] for each in ("layers", "eggs", "cages_unsexed")] == [3, 18, 1]
    assert [told[each] for each in ("males_records", "males_eggs")] == [1, 50]
    out = run("reproduction", "v").stdout
    assert "50 eggs of 1 record in doubt are not counted" in out
    assert "Eggs of 1 cage were shared among animals of unknown sex" in out
    hatch = next(each for each in told["estimates"] if each["measure"] == "hatch_share")
    assert hatch["estimate"] == 0.375
    assert [hatch[each] for each in ("se", "low", "high")] == [None] * 3
    survival = json.loads(run("survival", "v", "--by", "sex", "--format", "json").stdout)
    assert [each["n"] for each in survival["groups"]] == [1, 2, 3]
    doubts = run("verify", "v").stderr
    assert "tells eggs, and same at 2026-03-26" in doubts
    assert "the eggs are not counted" in doubts


@pytest.mark.parametrize("told", ["1 same eggs=0", "2 same eggs=5"], ids=["none", "of a male"])
def test_without_eggs_that_count_other_answers_go_on_without_a_life_table(
    run: Run, told: str
) -> None:
    """A look counted no eggs, or eggs that are told of a male are in doubt and not counted."""
    start = ("--species", "green-dock-beetle", "--eggs", "2", "--laid", "2026-05-01")
    run("start", "a", *start, "--on", "2026-05-02")
    run("start", "b", *start, "--on", "2026-05-02", "--origin", "a")
    for name in ("a", "b"):
        run("log", name, "1 adult sex=f; 2 adult", "--on", "2026-06-01")
        run("log", name, told, "--on", "2026-06-02")
        run("log", name, "2 same sex=m", "--on", "2026-06-03")
    told_of = json.loads(run("lineage", ".", "--format", "json").stdout)["families"][0]["members"]
    assert [each["figures"]["r0"] for each in told_of] == [None, None]
    assert "Euler" not in run("methods", "a", "b").stdout
    assert "counted" in run("reproduction", "a", fails=2).stderr
