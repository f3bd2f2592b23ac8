"""A class puts its mistakes right: what was said stays, and no longer counts."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run, history


def stands(run: Run) -> list[str]:
    return [
        f"{each['individual']} {each['stage'] or each['fate'] or 'same'}"
        for each in history(run)["observations"]
        if not each["struck"]
    ]


@pytest.fixture
def days(run: Run, room: Path) -> Path:
    """An L1 that was taken for an L2 on one day; the two days after said no change."""
    run("log", "room", "1 L1; 2 L1", "--on", "2026-03-12", "--by", "KT")
    run("log", "room", "1 L2 head=0.3", "--on", "2026-03-13", "--by", "KT")
    run("log", "room", "1 same", "--on", "2026-03-14", "--by", "MB")
    return room


def test_one_wrong_call_is_corrected_and_no_change_follows(run: Run, days: Path) -> None:
    before = days.read_bytes()
    words = ("correct", "room", "1", "l1", "--from", "2026-03-13", "--to", "2026-03-15")
    shown = run(*words, "--dry-run").stdout
    assert "1 L2 head=0.3 (@3) → 1 L1 head=0.3" in shown
    assert days.read_bytes() == before
    told = run(*words, "--because", "it was no L2 yet", "--by", "JL")
    assert "1 L2 head=0.3 (@3) → 1 L1 head=0.3 as @5" in told.stdout
    assert stands(run) == ["1 L1", "2 L1", "1 same", "1 L1"]
    old = history(run)["observations"][2]
    assert (old["struck"]["because"], old["struck"]["by"]) == ("it was no L2 yet", "JL")
    rows = json.loads(run("durations", "room", "--format", "json").stdout)["individuals"]
    assert {each["stage"] for each in rows if each["individual"] == "1"} == {"egg", "L1"}


def test_a_correction_that_cannot_be_changes_nothing(run: Run, days: Path) -> None:
    before = days.read_bytes()
    from_ = ("--from", "2026-03-13", "--because", "x")
    assert "no individual 9" in run("correct", "room", "9", "L1", *from_, fails=2).stderr
    assert "no stage L9" in run("correct", "room", "1", "L9", *from_, fails=2).stderr
    assert "nobody said" in run("correct", "room", "1", "L2", *from_, fails=2).stderr
    assert "say why" in run("correct", "room", "1", "L1", *from_[:2], fails=2).stderr
    assert days.read_bytes() == before


def test_a_strike_is_taken_back(run: Run, days: Path) -> None:
    run("strike", "room", "@3", "--because", "wrong cup")
    assert "1 L2" not in stands(run)
    told = run("strike", "room", "--take-back", "@3", "--because", "the right cup").stderr
    assert "Counts again: @3: 1 L2 head=0.3, Fri 2026-03-13 09:00, by KT" in told
    assert "1 L2" in stands(run)
    told = run("strike", "room", "--take-back", "@3", "--because", "again", fails=1).stderr
    assert "@3 is not struck out" in told


def test_one_entered_by_mistake_counts_nowhere_and_is_shown(run: Run, days: Path) -> None:
    told = run("withdraw", "room", "1", "--because", "there is no cup 1", "--by", "KT").stderr
    assert "Withdrawn: 1, with 3 records" in told
    assert json.loads(run("survival", "room", "--format", "json").stdout)["n"] == 4
    assert "no individual 1" in run("log", "room", "1 L3", fails=1).stderr
    table = run("history", "room").stdout
    assert "there is no cup 1" in table
    (kept,) = history(run)["withdrawn"]
    assert kept["code"] == "1"
    run("withdraw", "room", "1", "--take-back", "--because", "it is there")
    assert json.loads(run("survival", "room", "--format", "json").stdout)["n"] == 5
    assert "1 L2" in stands(run)


def figures(shown: str) -> list[list[str]]:
    """The rows of the table of what would change, in words."""
    return [line.split() for line in shown.partition("what would change")[2].splitlines()]


def test_what_a_correction_would_change_is_what_it_changes(run: Run, days: Path) -> None:
    run("log", "room", "1 L3", "--on", "2026-03-16", "--by", "KT")
    before, file = durations_of(run, "1"), days.read_bytes()
    assert before["L1"] == 2.0
    words = ("correct", "room", "1", "L1", "--from", "2026-03-13")
    shown = run(*words, "--dry-run")
    assert "Nothing changed: 1 record would be." in shown.stderr
    assert ["L1,", "1", "days", "2.00", "4.50"] in figures(shown.stdout)
    assert days.read_bytes() == file
    run(*words, "--because", "no L2 yet")
    assert durations_of(run, "1")["L1"] == 4.5


def test_what_taking_a_strike_back_would_change(run: Run, days: Path) -> None:
    run("log", "room", "1 L3", "--on", "2026-03-16", "--by", "KT")
    run("strike", "room", "@3", "--because", "wrong cup")
    file = days.read_bytes()
    shown = run("strike", "room", "--take-back", "@3", "--dry-run")
    assert "To count again" in shown.stdout
    assert "Nothing taken back: 1 record would be." in shown.stderr
    assert ["L1,", "1", "days", "4.50", "2.00"] in figures(shown.stdout)
    assert days.read_bytes() == file
    told = run("strike", "room", "--take-back", "@2", "--dry-run", fails=1).stderr
    assert "@2 is not struck out" in told


def durations_of(run: Run, individual: str) -> dict[str, float | None]:
    rows = json.loads(run("durations", "room", "--format", "json").stdout)["individuals"]
    return {each["stage"]: each["days"] for each in rows if each["individual"] == individual}
