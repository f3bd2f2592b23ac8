"""What commands that write tell programs: what was added, marked and changed, by whom and when."""

import json
from pathlib import Path
from typing import Any

import pytest

from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run


def told(run: Run, *words: str) -> dict[str, Any]:
    """The JSON of a command that writes; `run` holds it against its schema."""
    found = json.loads(run(*words, "--quiet", "--format", "json").stdout)
    assert isinstance(found, dict)
    assert (found["schema"], found["command"]) == ("rearlog/written", words[0])
    return found


@pytest.fixture
def logged(run: Run, room: Path) -> Path:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-10", "--by", "KT")
    return room


def test_a_round_is_told_with_its_numbers_who_and_when(run: Run, room: Path) -> None:
    found = told(run, "log", "room", "1 L1; 2-3 same", "--on", "2026-03-10", "--by", "KT")
    [change] = found["cohorts"]
    assert [(each["number"], each["individual"], each["by"]) for each in change["checks"]] == [
        (1, "1", "KT"),
        (2, "2", "KT"),
        (3, "3", "KT"),
    ]
    assert {each["at"] for each in change["checks"]} == {"2026-03-10T09:00:00+00:00"}
    assert (change["cohort"], change["created"]) == ("room", False)
    assert change["id"] == CohortFile(room).read().cohort.id
    assert found["told"][0].startswith("Recorded 3 checks at Tue 2026-03-10")
    [change] = told(run, "log", "room", "2 L1", "--on", "2026-03-11")["cohorts"]
    assert [each["number"] for each in change["checks"]] == [4]
    assert (change["individuals"], change["marks"], change["described"]) == ([], [], [])


def test_a_dry_run_writes_nothing_and_says_so(run: Run, logged: Path) -> None:
    before = logged.read_bytes()
    found = told(run, "log", "room", "2 L1", "--on", "2026-03-11", "--dry-run")
    assert found["cohorts"] == []
    assert found["told"][0].startswith("2 ")  # the line that people are shown
    assert found["told"][-1].startswith("Nothing recorded")
    assert logged.read_bytes() == before


def test_a_new_cohort_is_told_whole(run: Run, folder: Path) -> None:
    [change] = told(run, "start", "moths", "--species", "monarch", "--eggs", "2")["cohorts"]
    assert change["created"]
    assert [each["code"] for each in change["individuals"]] == ["1", "2"]
    assert change["described"] == []
    [change] = told(run, "simulate", "invented", "--species", "monarch", "--eggs", "2", "--temp",
                    "24", "--seed", "1")["cohorts"]  # fmt: skip
    assert (change["cohort"], change["created"], len(change["individuals"])) == (
        "invented",
        True,
        2,
    )
    assert len(change["checks"]) > 5
    assert [each["kind"] for each in change["temperatures"]] == ["constant"]


def test_individuals_and_temperatures_that_are_added(run: Run, room: Path) -> None:
    [change] = told(run, "add", "room", "7", "--container", "tray 2")["cohorts"]
    assert [(each["code"], each["container"]) for each in change["individuals"]] == [
        ("7", "tray 2")
    ]
    [change] = told(run, "temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-10")[
        "cohorts"
    ]
    assert [(each["number"], each["kind"], each["n"]) for each in change["temperatures"]] == [
        (1, "day", 2)
    ]
    found = told(run, "temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-10")
    assert found["cohorts"] == []  # it was known


def test_marks_say_what_was_struck_out_by_whom_and_why(run: Run, logged: Path) -> None:
    [change] = told(run, "strike", "room", "@2", "--because", "wrong cup", "--by", "MB")["cohorts"]
    [mark] = change["marks"]
    assert (mark["among"], mark["number"], mark["individual"]) == ("checks", 2, "2")
    assert (mark["mark"]["because"], mark["mark"]["by"]) == ("wrong cup", "MB")
    assert not mark["mark"]["back"]
    [change] = told(run, "strike", "room", "--take-back", "@2", "--because", "no")["cohorts"]
    assert [each["mark"]["back"] for each in change["marks"]] == [True]
    [change] = told(run, "withdraw", "room", "5", "--because", "four cups")["cohorts"]
    assert [(each["among"], each["individual"]) for each in change["marks"]] == [
        ("individuals", "5")
    ]
    run("temps", "room", "--constant", "24")
    [change] = told(run, "strike", "room", "@T1", "--because", "in the sun")["cohorts"]
    assert [(each["among"], each["number"]) for each in change["marks"]] == [("temperatures", 1)]
    assert change["checks"] == change["altered"] == change["gone"] == []


def test_a_correction_strikes_out_and_writes_anew(run: Run, logged: Path) -> None:
    words = ("correct", "room", "1", "egg", "--from", "2026-03-10", "--because", "too early")
    [change] = told(run, *words)["cohorts"]
    assert [each["number"] for each in change["marks"]] == [1]
    assert [(each["number"], each["stage"]) for each in change["checks"]] == [(6, "egg")]


def test_what_is_said_of_a_cohort(run: Run, room: Path) -> None:
    [change] = told(run, "describe", "room", "--food", "nettles", "--temp", "22")["cohorts"]
    assert change["described"] == ["food", "planned_celsius"]
    [change] = told(run, "rename", "room", "class-4b")["cohorts"]
    assert (change["cohort"], change["described"]) == ("class-4b", ["name"])


def test_what_is_taken_out_is_told_by_number_alone(run: Run, room: Path) -> None:
    run("log", "room", '1 same "of Anna"; 2 same', "--on", "2026-03-10")
    found = told(run, "redact", "room", "note", "@1")
    [change] = found["cohorts"]
    assert (change["altered"], change["gone"], change["checks"]) == ([1], [], [])
    assert "Anna" not in json.dumps(found)


def test_going_back_tells_what_is_gone(run: Run, logged: Path) -> None:
    run("log", "room", "2 L1", "--on", "2026-03-11")
    found = told(run, "restore", "room", "2")
    [change] = found["cohorts"]
    assert change["gone"] == [6]
    logged.write_bytes(b"nonsense")
    [change] = told(run, "restore", "room", "2")["cohorts"]
    assert (len(change["checks"]), change["created"]) == (5, False)


def test_what_files_and_copies_bring(run: Run, logged: Path) -> None:
    copy = logged.with_name("other.json")
    copy.write_bytes(logged.read_bytes())
    run("log", "other", "2 L1", "--on", "2026-03-11")
    [change] = told(run, "merge", "room", "other.json")["cohorts"]
    assert [(each["number"], each["individual"]) for each in change["checks"]] == [(6, "2")]
    checks = logged.with_name("checks.csv")
    checks.write_text("individual,at,stage\n3,2026-03-12,L1\n")
    [change] = told(run, "import", "room", "checks.csv")["cohorts"]
    assert [each["individual"] for each in change["checks"]] == ["3"]
    run("export", "room", "-o", "data")
    (logged.parent / "into").mkdir()
    [change] = told(run, "unpack", "data", "--into", "into")["cohorts"]
    assert (change["cohort"], change["created"], len(change["checks"])) == ("room", True, 7)


def test_an_answer_of_a_command_that_writes_is_its_own(run: Run, logged: Path) -> None:
    run("log", "room", "all L1", "--on", "2026-03-11")
    words = ("strike", "room", "@1", "--dry-run", "--format", "json")
    assert json.loads(run(*words).stdout)["schema"] == "rearlog/effect"
    run("redact", "room", "by")
    found = json.loads(run("redact", "room", "--format", "json").stdout)
    assert found["schema"] == "rearlog/redactions"
    assert [each["field"] for each in found["redactions"]] == ["by"]


def test_a_refusal_gives_no_json(run: Run, logged: Path) -> None:
    refused = run("log", "room", "1 L9", "--format", "json", fails=1)
    assert refused.stdout == ""
    assert refused.stderr.startswith("Error: ")
