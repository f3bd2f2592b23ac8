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
    one, other = (run("compare", *pair).stdout for pair in ((COOL, WARM), (WARM, COOL)))
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
    lines = run(command, *cohorts).stdout.splitlines()
    assert max(map(len, lines)) <= 80
    cells = [line.split() for line in lines if line.startswith((" egg ", " pupa "))]
    assert cells
    assert all(len(row) > 5 for row in cells)  # no row is broken into two


def test_a_cohort_is_left_out_by_name(run: Run) -> None:
    whole = run("thermal", COOL, ROOM, WARM).stdout
    less = run("thermal", COOL, ROOM, WARM, "--without", "room").stdout
    assert "two temperatures only" in less
    assert "two temperatures only" not in whole
    assert "Left out: room." in less
    assert "no cohort attic" in run("thermal", COOL, WARM, "--without", "attic", fails=2).stderr


def test_what_is_extrapolated_and_what_is_too_little_is_said(run: Run) -> None:
    found = run("thermal", COOL, ROOM, WARM).stdout
    assert "the threshold is extrapolated" in found
    assert "at least five different mean temperatures are needed" in " ".join(found.split())
