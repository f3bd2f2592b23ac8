"""The check sheet out to the clipboard and back into the log."""

import csv
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rearlog.records import times
from tests.cli.conftest import Run, history


def fill(path: Path, change: Callable[[str, str, str], str | None]) -> None:
    """Fill in the cells of a sheet: `change` is told the row's title, the day and what is there."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    titles = next(row for row in rows if row[:1] == ["individual"])
    for row in rows[rows.index(titles) + 1 :]:
        for place, title in enumerate(titles[2:], start=2):
            row[place] = change(row[0], title[:10], row[place]) or row[place]
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def a_week(row: str, day: str, _: str) -> str | None:
    if row.startswith("temp"):
        return {"temp min (C)": "18.5", "temp max (C)": "23"}[row] if day == "2026-03-11" else None
    if row == "initials":
        return "KT"
    if day == "2026-03-10":
        return "."
    changes = {"2": "L1", "3": "dead(mould)", "4": 'L1 head=0.35 "under the lid"', "5": None}
    return changes.get(row, ".") if day == "2026-03-12" else None


def test_a_filled_sheet_comes_back_with_its_temperatures(
    run: Run, room: Path, folder: Path
) -> None:
    run("sheet", "room", "-o", "week.csv", "--from", "2026-03-10", "--days", "3")
    fill(folder / "week.csv", a_week)
    result = run("import", "room", "week.csv")
    assert "Imported 9 checks and the temperatures of 1 day from week.csv" in result.stderr
    found = history(run)
    last = {each["individual"]: each for each in found["observations"]}
    assert [last[code]["stage"] for code in ("1", "2", "4", "5")] == [None, "L1", "L1", None]
    assert [last[code]["same"] for code in ("1", "2", "4", "5")] == [True, False, False, True]
    assert (last["3"]["fate"], last["3"]["cause"]) == ("dead", "mould")
    assert (last["4"]["head_width_mm"], last["4"]["note"]) == (0.35, "under the lid")
    assert {each["by"] for each in found["observations"]} == {"KT"}
    assert [(each["min_c"], each["max_c"]) for each in found["temperatures"]] == [(18.5, 23)]


def test_a_round_that_is_in_the_log_already_does_not_become_an_empty_column(
    run: Run, room: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    evening = datetime(2026, 3, 11, 20, tzinfo=UTC)
    monkeypatch.setattr(times, "now", lambda _zone: evening)
    run("log", "room", "1-3 L1; rest same")
    result = run("sheet", "room", "-o", "week.csv")
    rows = [*csv.reader((folder / "week.csv").read_text(encoding="utf-8-sig").splitlines())]
    assert rows[3][2] == "2026-03-12 Thu"
    assert [row[1] for row in rows[4:9]] == ["L1", "L1", "L1", "egg", "egg"]
    assert "7 days from Thu 12 Mar on" in result.stderr


def test_an_example_is_no_record(run: Run, room: Path, folder: Path) -> None:
    run("sheet", "room", "-o", "week.csv", "--from", "2026-03-10", "--days", "5")
    rows = [*csv.reader((folder / "week.csv").read_text(encoding="utf-8-sig").splitlines())]
    assert rows[2] == ["example: 1", "L2", "L3 head=0.9", ".", "", ".", "dead(mould)"]
    assert "Imported 0 checks" in run("import", "room", "week.csv").stderr


def test_the_same_sheet_again_is_passed_over(run: Run, room: Path, folder: Path) -> None:
    run("sheet", "room", "-o", "week.csv", "--from", "2026-03-10", "--days", "3")
    fill(folder / "week.csv", a_week)
    run("import", "room", "week.csv")
    before = room.read_bytes()
    assert "10 were in the log already" in run("import", "room", "week.csv").stderr
    assert room.read_bytes() == before


def test_bad_cells_are_all_listed_and_nothing_is_taken(run: Run, room: Path, folder: Path) -> None:
    run("sheet", "room", "-o", "week.csv", "--from", "2026-03-10", "--days", "3")
    wrong = {"1": "L9", "2": "dead(", "temp min (C)": "400"}
    fill(folder / "week.csv", lambda row, day, _: wrong.get(row) if day[-1] == "1" else None)
    before = room.read_bytes()
    result = run("import", "room", "week.csv", fails=1)
    for told in ("“L9” is no stage", "cell D6: “dead(” is not closed", "400"):
        assert told in result.stderr
    assert room.read_bytes() == before


def test_a_dry_run_records_nothing(run: Run, room: Path, folder: Path) -> None:
    run("sheet", "room", "-o", "week.csv", "--from", "2026-03-10", "--days", "3")
    fill(folder / "week.csv", a_week)
    before = room.read_bytes()
    result = run("import", "room", "week.csv", "--dry-run")
    assert "Nothing recorded: 9 checks and the temperatures of 1 day would be" in result.stderr
    assert room.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "magic", "paper"), [("week.pdf", b"%PDF", "letter"), ("week.png", b"\x89PNG", "a4")]
)
def test_a_sheet_to_print(
    run: Run, room: Path, folder: Path, name: str, magic: bytes, paper: str
) -> None:
    result = run("sheet", "room", "-o", name, "--paper", paper, "--from", "2026-03-10")
    assert "5 individuals, 7 days" in result.stderr
    assert (folder / name).read_bytes().startswith(magic)


def test_pages_of_pictures_have_numbers_and_write_over_nothing(run: Run, folder: Path) -> None:
    run("start", "many", "--species", "monarch", "--eggs", "60", "--on", "2026-03-09")
    assert "many-1.png, many-2.png" in run(
        "sheet", "many", "-o", "many.png", "--from", "2026-03-10").stderr  # fmt: skip
    result = run("sheet", "many", "-o", "many.png", "--from", "2026-03-10", fails=2)
    assert "many-1.png exists already" in result.stderr
    run("sheet", "many", "-o", "many.png", "--from", "2026-03-10", "--force")


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["-o", "week.doc"], 2, "end its name in .pdf, .png or .csv"),
        (["-o", "taken.csv"], 2, "exists already"),
        (["-o", "nowhere/week.csv"], 2, "no folder nowhere"),
        (["-o", "week.csv", "--days", "99"], 2, "99"),
        (["-o", "week.csv", "--from", "soon"], 2, "not a date"),
        (["-o", "week.csv", "--from", "2026-01-01"], 2, "nobody"),
    ],
)
def test_sheets_that_cannot_be_made(
    run: Run, room: Path, folder: Path, words: list[str], code: int, message: str
) -> None:
    (folder / "taken.csv").write_text("")
    assert message in run("sheet", "room", *words, fails=code).stderr
    assert (folder / "taken.csv").read_text() == ""
    assert not (folder / "week.csv").exists()
