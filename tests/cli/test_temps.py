import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run


def temperatures(run: Run) -> list[dict[str, object]]:
    found = json.loads(run("history", "room", "--format", "json").stdout)["temperatures"]
    return [{key: each[key] for key in each if key not in ("entered", "source")} for each in found]


def test_a_days_extremes_in_either_unit(run: Run, room: Path) -> None:
    run("temps", "room", "--min", "18.5", "--max", "23", "--on", "2026-03-10")
    run("temps", "room", "--min", "59", "--max", "77", "--unit", "F", "--on", "2026-03-11")
    assert [(each["min_c"], each["max_c"]) for each in temperatures(run)] == [(18.5, 23), (15, 25)]


def test_a_constant_temperature_begins_with_the_cohort(run: Run, room: Path) -> None:
    run("temps", "room", "--constant", "24")
    (found,) = temperatures(run)
    assert (found["celsius"], found["first"], found["last"]) == (24, "2026-03-09", None)


def test_the_same_day_again_adds_nothing_and_another_value_is_refused(run: Run, room: Path) -> None:
    run("temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-10")
    before = room.read_bytes()
    again = run("temps", "room", "--min", "18", "--max", "23", "--on", "2026-03-10")
    assert "already" in again.stderr
    other = run("temps", "room", "--min", "18", "--max", "24", "--on", "2026-03-10", fails=1)
    assert "@T1 says 18 to 23" in other.stderr
    warm = ("--min", "64", "--max", "73", "--unit", "F", "--on", "2026-03-10")
    assert "17.78 to 22.78 °C" in run("temps", "room", *warm, fails=1).stderr
    assert room.read_bytes() == before


def test_files_of_days_and_of_readings_are_told_apart(run: Run, room: Path, folder: Path) -> None:
    (folder / "days.csv").write_text("date,min_c,max_c\n2026-03-10,18,23\n2026-03-11,17,22\n")
    (folder / "logger.csv").write_text(
        "Time,Temperature (°C)\n2026-03-12 00:00,20\n2026-03-12 01:00,21\n", encoding="utf-8"
    )
    assert "2 days" in run("temps", "room", "days.csv").stderr
    assert "2 readings" in run("temps", "room", "logger.csv").stderr
    assert temperatures(run)[2]["celsius"] == [20, 21]
    assert "2 were in the log already" in run("temps", "room", "logger.csv").stderr


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        ([], 2, "give one of"),
        (["--min", "18"], 2, "go together"),
        (["--min", "25", "--max", "20"], 2, "above the highest"),
        (["--min", "18", "--max", "400"], 2, "400"),
        (["--min", "warm", "--max", "20"], 2, "warm"),
        (["--min", "18", "--max", "20", "--on", "2999-01-01"], 2, "future"),
        (["--constant", "24", "--on", "2026-03-10"], 2, "--from"),
        (["--constant", "24", "--from", "2026-03-12", "--to", "2026-03-10"], 2, "before"),
        (["nowhere.csv"], 1, "nowhere.csv"),
        (["hot.csv"], 1, "line 2"),
    ],
)
def test_what_is_wrong_changes_nothing(
    run: Run, room: Path, folder: Path, words: list[str], code: int, message: str
) -> None:
    (folder / "hot.csv").write_text("date,min_c,max_c\n2026-03-10,18,400\n")
    before = room.read_bytes()
    assert message in run("temps", "room", *words, fails=code).stderr
    assert room.read_bytes() == before


def test_an_unlikely_temperature_is_recorded_with_a_note(run: Run, room: Path) -> None:
    assert "60 °C is unusual" in run("temps", "room", "--min", "20", "--max", "60").stderr
    assert "unusual" not in run("temps", "room", "--min", "20", "--max", "30",
                                "--on", "2026-03-10").stderr  # fmt: skip


def test_a_day_before_the_cohort_is_recorded_with_a_note(run: Run, room: Path) -> None:
    day = ("--min", "20", "--max", "25", "--on")
    assert run("temps", "room", *day, "2025-03-10").stderr.splitlines() == [
        "2025-03-10: 20 to 25 °C",
        "Note: temperature of 2025-03-10 (@T1): the cohort began later, on 2026-03-08, "
        "so nothing counts it (if the day is wrong, strike the record out)",
    ]
    assert "began" in run("temps", "room", *day, "2026-03-07").stderr
    assert "began" not in run("temps", "room", *day, "2026-03-08").stderr  # the eggs were laid


def test_one_that_was_kept_until_before_the_cohort_is_recorded_with_a_note(
    run: Run, room: Path
) -> None:
    kept = ("temps", "room", "--constant", "24", "--from")
    told = run(*kept, "2025-03-10", "--to", "2025-03-20").stderr
    assert "Note: constant temperature from 2025-03-10 (@T1): the cohort began later" in told
    assert "began" not in run(*kept, "2025-04-01").stderr


def test_how_a_loggers_file_was_read_is_told(run: Run, room: Path, folder: Path) -> None:
    lines = ["Time,Temp", "2026-03-12 00:00,68", "2026-03-12 01:00,---", "2026-03-12 02:00,77",
             "2026-03-12 03:00,999.9"]  # fmt: skip
    (folder / "logger.csv").write_text("\n".join(lines))
    told = run("temps", "room", "logger.csv", "--unit", "f", "--missing", "999.9").stderr
    assert "2 readings recorded" in told
    assert "read as °F, 20 to 25 °C" in told
    assert "2026-03-12 00:00 to 2026-03-12 02:00 by a clock of UTC" in told
    assert "2 lines without a temperature" in told


def test_the_history_says_until_when_a_temperature_was_kept(run: Run, room: Path) -> None:
    run("temps", "room", "--constant", "24", "--from", "2026-03-09", "--to", "2026-03-12")
    run("temps", "room", "--constant", "21.5", "--from", "2026-03-13")
    shown = run("history", "room").stdout
    assert "2026-03-09 to 2026-03-12" in shown
    assert "2026-03-13 to now" in shown
