"""What is due, of cohorts whose course can be worked out by hand.

The invented moth needs exactly 60 degree-days above 10 °C as an egg, 40 as a larva and 100 as a
pupa; at 20 °C that is 6, 4 and 10 days. The eggs are laid when the cohort starts, on Monday
2026-03-09 at 09:00.
"""

import json
import os
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run

MOTH = """
id = "slow-moth"
name = "slow moth"
scientific_name = "Moth lenta"
lower = {value = 10, source = "own"}

[sources.own]
kind = "own"
citation = "invented for a test"

[[stages]]
code = "egg"
name = "egg"
degree_days = {value = 60, sd = 0.5, source = "own"}

[[stages]]
code = "L1"
name = "first instar"
degree_days = {value = 40, sd = 0.5, source = "own"}

[[stages]]
code = "pupa"
name = "pupa"
degree_days = {value = 100, sd = 0.5, source = "own"}

[[stages]]
code = "adult"
name = "adult"
"""


@pytest.fixture
def moths(run: Run, folder: Path) -> Path:
    """Four eggs at 20 °C, looked at every day to 2026-03-13; the fourth one found dead then."""
    (folder / "moth.toml").write_text(MOTH)
    run("start", "moths", "--species", "moth.toml", "--eggs", "4", "--on", "2026-03-09T09:00",
        "--laid-after", "2026-03-09T09:00", "--laid-by", "2026-03-09T09:00",
        "--zone", "UTC")  # fmt: skip
    run("temps", "moths", "--constant", "20", "--from", "2026-03-09")
    seen(run, folder, [f"{code},2026-03-{day},egg," for code in "1234" for day in (10, 11, 12)])
    seen(run, folder, [f"{code},2026-03-13,egg," for code in "123"] + ["4,2026-03-13,,dead"])
    return folder / "moths.json"


def seen(run: Run, folder: Path, lines: list[str], cohort: str = "moths") -> None:
    (folder / "seen.csv").write_text("\n".join(["individual,at,stage,fate", *lines]))
    run("import", cohort, "seen.csv")


def today(run: Run, *words: str) -> list[dict[str, Any]]:
    found = json.loads(run("today", *words, "--format", "json").stdout)
    cohorts: list[dict[str, Any]] = found["cohorts"]
    return cohorts


def test_the_eggs_should_hatch_six_days_after_they_were_laid(run: Run, moths: Path) -> None:
    (found,) = today(run, "moths", "--as-of", "2026-03-13")
    assert found["summary"] == "3 alive: 3 eggs; 3 should hatch by Sunday"
    assert {each["likely"] for each in found["events"]} == {"2026-03-15"}
    assert [each["individual"] for each in found["events"]] == ["1", "2", "3"]
    assert found["missing_temperatures"] == []
    assert found["not_seen"] == []


def test_who_is_overdue_and_who_was_not_looked_at(run: Run, moths: Path, folder: Path) -> None:
    seen(run, folder, [f"{code},2026-03-{day},egg," for code in "12" for day in (14, 17, 18)])
    (found,) = today(run, "moths", "--as-of", "2026-03-18")
    assert "3 overdue; 1 not looked at since Fri 13 Mar" in found["summary"]
    assert "foretold" not in found["summary"]
    assert {each["when"] for each in found["events"]} == {"overdue"}
    # three days late, some of which is put down to a slow cohort
    assert all(2 < each["overdue_days"] < 3 for each in found["events"])
    assert [
        (each["individual"], each["last_seen"], each["days"]) for each in found["not_seen"]
    ] == [("3", "2026-03-13", 5)]
    table = run("today", "moths", "--as-of", "2026-03-18").stdout
    assert "overdue 2 days  hatch  1, 2" in table
    assert "Not looked at since Fri 13 Mar: 3." in table
    assert "Overdue counts from the end of the first window" in table
    table = run("today", "moths", "--as-of", "2026-03-13").stdout
    assert "Overdue counts" not in table


def test_who_is_overdue_after_all_has_one_window(run: Run, moths: Path, folder: Path) -> None:
    """Last looked at on 13 March; the window of which the days are counted is the one shown."""
    (found,) = today(run, "moths", "--as-of", "2026-03-25")
    late = [each for each in found["events"] if each["overdue_days"] is not None]
    assert len(late) == 3
    for each in late:
        shown = date(2026, 3, 25) - date.fromisoformat(each["latest"])
        assert abs(shown.days - each["overdue_days"]) <= 1
    assert "Overdue counts" not in run("today", "moths", "--as-of", "2026-03-25").stdout


def test_the_summaries_come_first_and_the_most_urgent_cohort_before_the_others(
    run: Run, moths: Path, folder: Path
) -> None:
    run("start", "early", "--species", "moth.toml", "--eggs", "2", "--on", "2026-03-13",
        "--zone", "UTC", "--temp", "20")  # fmt: skip
    assert [each["cohort"] for each in today(run, "--as-of", "2026-03-17")] == ["moths", "early"]
    shown = run("today", "--as-of", "2026-03-17").stdout
    assert shown.index("Due on Tuesday 2026-03-17") < shown.index("moths ") < shown.index("early ")
    assert shown.index("early ") < shown.index("moths (Moth lenta)")


def test_events_of_one_kind_on_one_day_stand_in_one_line(run: Run, folder: Path) -> None:
    shutil.copy(Path(__file__).parents[2] / "sample_cohorts" / "cool.json", folder)
    (found,) = today(run, "cool", "--as-of", "2026-03-24")
    groups = {(each["when"], each["event"], each["likely"]) for each in found["events"]}
    shown = run("today", "cool", "--as-of", "2026-03-24").stdout
    assert 1 < len(groups) < len(found["events"])
    assert len([line for line in shown.splitlines() if " molt to L" in line[:20]]) == len(groups)


def test_days_without_a_temperature_are_named(run: Run, folder: Path) -> None:
    (folder / "moth.toml").write_text(MOTH)
    run("start", "moths", "--species", "moth.toml", "--eggs", "1", "--on", "2026-03-09",
        "--zone", "UTC")  # fmt: skip
    (folder / "days.csv").write_text("date,min_c,max_c\n2026-03-09,20,20\n2026-03-10,20,20\n")
    run("temps", "moths", "days.csv")
    (found,) = today(run, "moths", "--as-of", "2026-03-13")
    assert found["missing_temperatures"] == ["2026-03-11", "2026-03-12"]
    shown = run("today", "--as-of", "2026-03-13").stdout
    assert "Note: No temperature since 2026-03-10; to fill it: rearlog temps moths" in shown
    run("temps", "moths", "--min", "20", "--max", "20", "--on", "2026-03-13")
    shown = run("today", "--as-of", "2026-03-15").stdout
    assert "for 2 days (2026-03-11 to 2026-03-12): taken from the days beside" in shown


def test_a_row_a_matter_for_spreadsheets(run: Run, moths: Path) -> None:
    lines = run("today", "moths", "--as-of", "2026-03-14", "--format", "csv").stdout.splitlines()
    assert lines[0].split(",")[:5] == ["cohort", "when", "individual", "stage", "event"]
    assert lines[1].startswith("moths,")
    assert len(lines) == 4


def test_a_cohort_that_cannot_be_read_does_not_hide_the_others(
    run: Run, moths: Path, folder: Path
) -> None:
    (folder / "bad.json").write_text('{"file":{"1":{}}')
    result = run("today", "--as-of", "2026-03-13", fails=1)
    assert "3 should hatch by Sunday" in result.stdout
    assert "bad.json" in result.stderr


def test_when_nobody_is_left(run: Run, moths: Path, folder: Path) -> None:
    seen(run, folder, [f"{code},2026-03-14,,dead" for code in "123"])
    assert today(run)[0]["summary"] == "Nobody is left: 4 died."


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["moths", "--as-of", "soon"], 2, "not a date"),
        (["moths", "--as-of", "2026-03-01"], 2, "before the cohort's start"),
        (["nowhere"], 1, "no cohort file"),
    ],
)
def test_what_cannot_be_asked(
    run: Run, moths: Path, words: list[str], code: int, message: str
) -> None:
    assert message in run("today", *words, fails=code).stderr


def test_a_folder_without_cohorts_says_so(run: Run) -> None:
    assert "no cohort in this folder" in run("today", fails=2).stderr


def test_the_asked_round_tells_the_same_days(run: Run, moths: Path) -> None:
    result = run("check", "moths", "--on", "2026-03-13T12:00", text="q\n")
    assert "1  egg, 4 days; hatch Sat 14 to Mon 16 Mar > " in result.stdout
    late = run("check", "moths", "--on", "2026-03-18", text="q\n")
    assert "1  egg, 9 days; hatch overdue 2 days > " in late.stdout


def test_a_round_of_yesterday_rests_on_what_was_written_down_today(run: Run, moths: Path) -> None:
    run("log", "moths", "1 L1; rest same", "--on", "2026-03-15")
    result = run("check", "moths", "--on", "2026-03-16", text="q\n")
    assert "1  L1, 1 to 3 days (nobody looked); pupation Thu 19 to Fri 20 Mar > " in result.stdout


def test_every_cohort_of_the_folder_is_seen_and_a_broken_one_is_named(
    run: Run, moths: Path, folder: Path
) -> None:
    content = moths.read_bytes()
    (folder / "marked.json").write_bytes(b"\xef\xbb\xbf" + content)
    (folder / "anew.json").write_text(json.dumps(json.loads(content), indent=2))
    (folder / "other.json").write_text('{"name": "no cohort"}')
    run("start", "broken", "--species", "moth.toml", "--eggs", "1", "--on", "2026-03-09")
    (folder / "broken.json").write_bytes(b"")
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.json")
    told = run("today", "--as-of", "2026-03-14", "--format", "json", fails=1)
    assert len(json.loads(told.stdout)["cohorts"]) == 3
    assert "broken.json" in told.stderr
    assert "pipe" not in told.stderr
    assert "other" not in told.stderr
