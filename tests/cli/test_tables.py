"""Every table of an answer by its name; CSV with its titles even where there is nothing to list."""

import csv
import io
import re
import shutil
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
ANSWERS = {
    "durations room": {"stages", "individuals", "summary"},
    "survival room": {"kaplan_meier", "life_table", "stage_table", "causes", "summary"},
    "heat room": {"daily", "stages", "summary"},
    "growth room": {"instars", "series", "summary"},
    "forecast room --as-of 2026-03-25": {"events", "individuals", "summary"},
    "forecast room --review": {"reviews", "summary"},
    "agreement room": {"summary"},
    "compare room warm": {"stages", "stages.groups", "summary"},
    "thermal room warm": {"stages", "stages.points", "summary"},
    "today room --as-of 2026-03-25": {"cohorts", "cohorts.events", "summary"},
    "history room": {"observations", "rounds", "in_doubt", "summary"},
    "verify room": {"cohorts", "cohorts.problems", "summary"},
    "restore room": {"backups", "summary"},
    "settings": {"settings", "summary"},
    "species list": {"species", "summary"},
    "species show monarch": {"stages", "summary"},
    "identify --species monarch --head 1.5": {"probabilities", "evidence", "summary"},
    "explain SE": {"meanings", "summary"},
    "plan --species monarch --temp 22 --difference 9 --runs 10": {"table", "summary"},
}


@pytest.fixture
def samples(folder: Path) -> Path:
    for name in ("room", "warm"):
        shutil.copy(SAMPLES / f"{name}.json", folder)
    return folder


@pytest.mark.usefixtures("samples")
@pytest.mark.parametrize("command", ANSWERS)
def test_every_table_is_reached_by_its_name(run: Run, command: str) -> None:
    words = command.split()
    refused = run(*words, "--table", "nothing", fails=2).stderr
    named = re.search(r"no table “nothing” \(there are (.*)\)", refused)
    assert named is not None, refused
    names = named[1].split(", ")
    assert ANSWERS[command] <= {*names}
    for name in names:
        lines = run(*words, "--table", name, "--format", "csv").stdout.splitlines()
        assert re.match(r"[a-zA-Z_0-9]+(,[a-zA-Z_0-9]+)*$", lines[0]), lines[0]
        widths = {len(row) for row in csv.reader(lines)}
        assert len(widths) == 1


@pytest.mark.usefixtures("samples")
def test_a_table_by_name_is_shown_on_the_screen_too(run: Run) -> None:
    shown = run("survival", "room", "--table", "causes").stdout
    assert shown.splitlines()[0].startswith("causes")
    assert "days" not in shown.splitlines()[0]
    assert "all tables" in run("survival", "room", "--table", "causes", "--format", "json",
                               fails=2).stderr  # fmt: skip


def titles(text: str) -> list[str]:
    [line] = csv.reader(io.StringIO(text))
    return line


def test_csv_has_its_titles_where_there_is_nothing_to_list(run: Run, room: Path) -> None:
    csv_of = ("--format", "csv")
    assert titles(run("verify", "room", *csv_of).stdout) == ["cohort", "place", "message", "remedy"]
    assert titles(run("history", "room", *csv_of).stdout)[:3] == ["individual", "at", "stage"]
    assert titles(run("history", "room", "--rounds", *csv_of).stdout)[0] == "entered"
    assert titles(run("restore", "room", *csv_of).stdout)[0] == "number"
    assert titles(run("growth", "room", *csv_of).stdout)[0] == "individual"
    assert titles(run("forecast", "room", "--review", *csv_of).stdout)[0] == "as_of"


def test_yes_and_no_are_those_of_json(run: Run, samples: Path) -> None:
    [line] = csv.DictReader(
        io.StringIO(run("verify", "room", "--table", "cohorts", "--format", "csv").stdout)
    )
    assert line["sound"] == "true"
    text = run("compare", "room", "warm", "--format", "csv").stdout
    assert {each["tested"] for each in csv.DictReader(io.StringIO(text))} <= {"true", "false"}
    assert "yes" in run("verify", "room").stdout
