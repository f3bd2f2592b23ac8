"""`compare` and `thermal` as people and programs meet them."""

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM, WARM = (str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))


def test_heat_agrees_where_days_do_not(run: Run) -> None:
    """The Fernhill cohorts were invented with the same needs at three temperatures."""
    rows = json.loads(run("compare", COOL, ROOM, WARM, "--format", "json").stdout)["stages"]
    whole = {row["unit"]: row for row in rows if row["stage"] == "whole development"}
    assert whole["days"]["p_holm"] < 0.001
    assert whole["degree-days C"]["p_holm"] > 0.05


def test_the_longer_stands_first_whichever_is_named_first(run: Run) -> None:
    one, other = (run("compare", *pair, "--full").stdout for pair in ((COOL, WARM), (WARM, COOL)))
    sentence = "pupa: cool took 5.4 days more than warm on average"
    assert sentence in one
    assert sentence in other


def test_a_span_is_compared_by_itself(run: Run) -> None:
    found = run("compare", COOL, WARM, "--from", "L1", "--to", "pupa", "--format", "json").stdout
    rows = json.loads(found)["stages"]
    assert [row["stage"] for row in rows] == ["L1 to pupa", "L1 to pupa"]
    assert "no stage L7" in run("compare", COOL, WARM, "--from", "L7", fails=2).stderr


def test_every_cohort_has_a_row_in_each_stage(run: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(run("compare", COOL, WARM, "--format", "csv").stdout)))
    assert [row["cohort"] for row in rows[:2]] == ["cool", "warm"]
    assert len(rows) == 2 * 2 * 8


@pytest.mark.parametrize("cohorts", [(COOL, WARM), (COOL, ROOM, WARM)], ids=["two", "three"])
@pytest.mark.parametrize("command", ["compare", "thermal"])
def test_tables_fit_a_narrow_terminal(
    run: Run, monkeypatch: pytest.MonkeyPatch, command: str, cohorts: tuple[str, ...]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    lines = run(command, *cohorts, "--full").stdout.splitlines()
    assert max(map(len, lines)) <= 80
    cells = [line.split() for line in lines if line.startswith((" egg ", " pupa "))]
    assert cells
    assert all(len(row) > len(cohorts) + 1 for row in cells)  # no row is broken into two


def test_a_cohort_is_left_out_by_name(run: Run) -> None:
    whole = run("thermal", COOL, ROOM, WARM).stdout
    less = run("thermal", COOL, ROOM, WARM, "--without", "room").stdout
    assert "two temperatures only" in less
    assert "two temperatures only" not in whole
    assert "Left out: room." in less
    assert "no cohort attic" in run("thermal", COOL, WARM, "--without", "attic", fails=2).stderr


def test_a_threshold_that_is_not_to_be_used_has_its_reason_beside_it(run: Run) -> None:
    told = " ".join(run("thermal", COOL, ROOM).stdout.split())
    why = "the threshold is hardly known: its standard error is above 3 °C"
    assert f"Not to be used in L1, in L2 and in L3, because {why}." in told
    explained = " ".join(run("explain", "not to be used").stdout.split())
    assert "its standard error is above 3 °C" in explained


def test_what_is_extrapolated_and_what_is_too_little_is_said(run: Run) -> None:
    found = run("thermal", COOL, ROOM, WARM, "--full").stdout
    assert "the threshold is extrapolated" in found
    assert "at least six different mean temperatures are needed" in " ".join(found.split())


def test_how_long_adults_lived_is_compared(run: Run) -> None:
    """Six adults each, seen on 10 March, found dead a day apart: of one cohort days 1 to 6 after
    it, of the other days 11 to 16."""
    for name, first in (("short", 11), ("long", 21)):
        start = f"{name} --species painted-lady --eggs 6 --on 2026-03-09 --zone UTC"
        run("start", *start.split())
        run("log", name, "1-6 adult", "--on", "2026-03-10")
        for number in range(1, 7):
            run("log", name, f"{number} dead", "--on", f"2026-03-{first + number - 1}")
            if number < 6:
                run("log", name, f"{number + 1}-6 same", "--on", f"2026-03-{first + number - 1}")
    words = "compare", "short", "long", "--from", "adult"
    shown = " ".join(run(*words).stdout.split())
    assert "survival since first seen as adult" in shown
    assert "How long those seen as adult lived: the cohorts differ (p = 0.0" in shown
    rows = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv").stdout)))
    assert [(row["cohort"], row["died"], row["half_died_high"]) for row in rows] == [
        ("short", "6", "3.0"),
        ("long", "6", "13.0"),
    ]


def test_growth_by_temperature_asks_for_eggs(run: Run) -> None:
    told = run("thermal", COOL, WARM, "--population", fails=2).stderr
    assert "in none of these cohorts were eggs and temperatures told" in told


def test_growth_by_temperature_is_of_the_cohorts_whose_eggs_were_counted(run: Run) -> None:
    """Two cohorts at 20 and 25 °C: one egg of two grows up in four days and lays nine."""
    for name, celsius in (("cool", "20"), ("warm", "25")):
        run("start", name, "--species", "painted-lady", "--eggs", "2", "--on", "2026-03-09",
            "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
        run("temps", name, "--constant", celsius, "--from", "2026-03-09")
        run("log", name, "1 adult sex=f; 2 dead", "--on", "2026-03-13")
        run("log", name, "1 same eggs=9", "--on", "2026-03-14")
        run("log", name, "1 dead", "--on", "2026-03-16")
    told = run("thermal", "cool", "warm", "--population", "--format", "json").stdout
    points = json.loads(told)["points"]
    assert [(each["temperature"], each["n"], each["adults"]) for each in points] == [
        (pytest.approx(20), 2, 1),
        (pytest.approx(25), 2, 1),
    ]
    assert points[0]["r"] == pytest.approx(points[1]["r"])
    assert 0 < points[0]["r"] < 1
    shown = " ".join(run("thermal", "cool", "warm", "--population").stdout.split())
    assert "how fast the population grows, by temperature" in shown
    assert "at least six different mean temperatures are needed" in shown
    rows = list(csv.DictReader(io.StringIO(
        run("thermal", "cool", "warm", "--population", "--format", "csv").stdout
    )))  # fmt: skip
    assert [row["cohort"] for row in rows] == ["cool", "warm"]
