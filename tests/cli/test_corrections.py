"""Looking back and striking out."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run

CHANGES = {"2026-03-12": "1-4 L1; rest same", "2026-03-14": "1 L2 seen; 2 dead(mould); rest same",
           "2026-03-15": "rest same"}  # fmt: skip


@pytest.fixture
def rounds(run: Run, room: Path) -> Path:
    """Three rounds of five eggs: records 1–5, 6–10, 11–14."""
    for day, line in CHANGES.items():
        run("log", "room", line, "--on", day, "--by", "KT" if day == "2026-03-14" else "MB")
    return room


def history(run: Run, *words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run("history", "room", *words, "--format", "json").stdout)
    return found


def numbers(run: Run, *words: str) -> list[int]:
    return [each["number"] for each in history(run, *words)["observations"]]


def struck(run: Run) -> dict[int, str]:
    return {
        each["number"]: each["struck"]["because"]
        for each in history(run)["observations"]
        if each["struck"]
    }


def test_the_records_of_a_day_of_one_and_of_the_last_rounds(run: Run, rounds: Path) -> None:
    assert numbers(run) == list(range(1, 15))
    assert numbers(run, "--on", "2026-03-14") == [6, 7, 8, 9, 10]
    assert numbers(run, "2") == [2, 7]
    assert numbers(run, "--last", "1") == [11, 12, 13, 14]
    assert numbers(run, "--last", "2", "1") == [6, 11]
    assert numbers(run, "--last", "99") == numbers(run)


def test_a_line_a_round(run: Run, rounds: Path) -> None:
    found = history(run)["rounds"]
    assert [(each["first_record"], each["last_record"], each["by"]) for each in found] == [
        (1, 5, "MB"), (6, 10, "KT"), (11, 14, "MB"),
    ]  # fmt: skip
    assert [(each["records"], each["changed"]) for each in found] == [(5, 4), (5, 2), (4, 0)]
    assert found[1]["changes"] == "1 L2 seen; 2 dead(mould)"
    table = run("history", "room", "--rounds", "--last", "2").stdout
    assert "@6–10" in table
    assert "@1–5" not in table
    csv = run("history", "room", "--rounds", "--format", "csv").stdout.splitlines()
    assert len(csv) == 4


def test_temperatures_are_shown_with_the_day_that_they_are_of(run: Run, rounds: Path) -> None:
    run("temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-14")
    run("temps", "room", "--min", "17", "--max", "23", "--on", "2026-03-15")
    assert [each["min_c"] for each in history(run, "--on", "2026-03-14")["temperatures"]] == [18]
    assert history(run, "1")["temperatures"] == []
    assert len(history(run)["temperatures"]) == 2


def test_the_last_round_is_struck_as_a_whole(run: Run, rounds: Path) -> None:
    result = run("strike", "room", "--last-round", "--because", "wrong cohort")
    assert "Struck out 4 records" in result.stderr
    assert struck(run) == dict.fromkeys((11, 12, 13, 14), "wrong cohort")
    run("strike", "room", "--last-round", "--because", "again")
    assert struck(run)[6] == "again"
    assert 5 not in struck(run)


def test_days_that_one_file_brought_are_rounds_of_their_own(run: Run, room: Path) -> None:
    (room.parent / "two.csv").write_text(
        "individual,at,stage\n1,2026-03-11,egg\n2,2026-03-11,egg\n1,2026-03-12,L1\n"
    )
    run("import", "room", "two.csv")
    run("strike", "room", "--last-round", "--because", "typed wrong")
    assert struck(run) == {3: "typed wrong"}


def test_what_a_strike_would_change_is_shown_and_nothing_is_struck(run: Run, rounds: Path) -> None:
    before = rounds.read_bytes()
    result = run("strike", "room", "@7", "--dry-run")
    assert "2 dead(mould)" in result.stdout
    words = [line.split() for line in result.stdout.splitlines()]
    assert ["survival", "deaths", "1", "0"] in words
    assert ["L1,", "cohort", "died", "1", "0"] in words
    assert ["L1,", "2", "outcome", "died", "in", "stage"] in words
    assert "1 record would be" in result.stderr
    assert rounds.read_bytes() == before


def test_a_strike_that_changes_no_result_says_so(run: Run, rounds: Path) -> None:
    result = run("strike", "room", "14", "--dry-run")
    assert "No duration and no figure of survival changes" in result.stderr


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["--because", "x"], 2, "say what"),
        (["@1", "--last-round", "--because", "x"], 2, "say what"),
        (["@1"], 2, "say why"),
        (["one", "--because", "x"], 2, "not a record number"),
        (["99", "T9", "--because", "x"], 1, "2 problems"),
        (["T9", "--because", "x"], 1, "no record @T9"),
    ],
)
def test_strikes_that_are_wrong_change_nothing(
    run: Run, rounds: Path, words: list[str], code: int, message: str
) -> None:
    before = rounds.read_bytes()
    assert message in run("strike", "room", *words, fails=code).stderr
    assert rounds.read_bytes() == before


def test_what_is_struck_already_says_why(run: Run, rounds: Path) -> None:
    run("strike", "room", "14", "--because", "wrong cup")
    result = run("strike", "room", "14", "--because", "again", fails=1)
    assert "struck out already: wrong cup" in result.stderr


def test_a_temperature_is_struck_by_its_letter(run: Run, rounds: Path) -> None:
    run("temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-14")
    run("strike", "room", "t1", "--because", "in the sun", "--by", "KT")
    (found,) = history(run)["temperatures"]
    assert (found["struck"]["because"], found["struck"]["by"]) == ("in the sun", "KT")
    assert struck(run) == {}


def test_a_cohort_without_a_round_has_none_to_strike(run: Run, room: Path) -> None:
    assert "no round" in run("strike", "room", "--last-round", "--because", "x", fails=2).stderr


def test_unknown_individuals_are_told(run: Run, rounds: Path) -> None:
    assert "this cohort has 1, 2" in run("history", "room", "77", fails=2).stderr


def test_ranges_as_history_prints_them_are_struck(run: Run, rounds: Path) -> None:
    run("temps", "room", "--constant", "20", "--to", "2026-03-10")
    run("temps", "room", "--constant", "24", "--from", "2026-03-11")
    run("strike", "room", "11–12", "@13-@14", "@T1-T2", "--because", "another room")
    assert sorted(struck(run)) == [11, 12, 13, 14]
    assert all(each["struck"] for each in history(run)["temperatures"])
    for words in ("14-11", "1-", "1-T2", "1-999999999"):
        assert "not a record number" in run("strike", "room", words, "--dry-run", fails=2).stderr


def test_a_number_that_is_a_code_too_is_asked_about(run: Run, rounds: Path) -> None:
    before = rounds.read_bytes()
    for words, code in (("3", "3"), ("4-8", "4")):
        told = run("strike", "room", words, "--because", "wrong cup", fails=2).stderr
        assert f"record @{code} or individual {code}?" in told
        assert f"write @{words} for the record" in told
    assert rounds.read_bytes() == before
    run("strike", "room", "13", "--because", "wrong cup")
    assert set(struck(run)) == {13}


def test_a_code_with_the_letter_of_temperatures_is_asked_about(run: Run, folder: Path) -> None:
    run("start", "tent", "--species", "monarch", "--eggs", "3", "--codes", "T", "--zone", "UTC")
    run("add", "tent", "T3")
    run("temps", "tent", "--min", "18", "--max", "23", "--on", "yesterday", fails=0)
    told = run("strike", "tent", "t3", "--because", "in the sun", fails=2).stderr
    assert "record @T3 or individual T3?" in told


def test_what_was_struck_is_named(run: Run, rounds: Path) -> None:
    told = run("strike", "room", "@7", "--because", "wrong cup").stderr
    assert "Struck out @7: 2 dead(mould), Sat 2026-03-14 09:00, by KT" in told
    run("temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-14")
    told = run("strike", "room", "@11-12", "@T1", "--because", "wrong cohort").stderr
    assert "Struck out 3 records" in told
    assert "@11: 1 same, Sun 2026-03-15 09:00, by MB" in told
    assert "@T1: 18 to 23, 2026-03-14" in told
