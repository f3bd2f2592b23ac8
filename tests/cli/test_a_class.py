"""What a class does wrong in a fortnight, and how it is put right, through the commands alone."""

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run


@pytest.fixture
def cups(run: Run, folder: Path) -> Path:
    """Cups 1 to 6, painted ladies, up to L2 on 14 March."""
    run("start", "cups", "--species", "painted-lady", "--eggs", "6", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
    run("log", "cups", "all L1", "--on", "2026-03-11", "--by", "KT")
    run("log", "cups", "all L2", "--on", "2026-03-14", "--by", "KT")
    return folder / "cups.json"


def answer(run: Run, *words: str) -> Any:
    return json.loads(run(*words, "--format", "json").stdout)


def stages_of(run: Run, code: str) -> dict[str, float | None]:
    rows = answer(run, "durations", "cups")["individuals"]
    return {each["stage"]: each["days"] for each in rows if each["individual"] == code}


def doubts(run: Run, *when: str) -> list[list[int | None]]:
    (found,) = answer(run, "today", "cups", *when)["cohorts"]
    return [[each["look"]["record"], each["before"]["record"]] for each in found["in_doubt"]]


def test_an_l3_taken_for_an_l4_and_the_same_after_it(run: Run, cups: Path) -> None:
    run("log", "cups", "1 L4; rest L3", "--on", "2026-03-16", "--by", "MB")
    run("log", "cups", "all same", "--on", "2026-03-17", "--by", "MB")
    run("correct", "cups", "1", "L3", "--from", "2026-03-16", "--because", "it was L3 yet")
    run("log", "cups", "all L4", "--on", "2026-03-19", "--by", "MB")
    assert stages_of(run, "1") == stages_of(run, "2")
    assert doubts(run) == []
    run("export", "cups", "-o", "out")
    rows = list(csv.DictReader(io.StringIO(Path("out/observations.csv").read_text())))
    (same,) = [row for row in rows if row["individual"] == "1" and row["same"]]
    assert same["stage"] == "L3"


def test_a_page_of_yesterday_imported_after_the_round_of_today(run: Run, cups: Path) -> None:
    """The page still knew 1 as L2; what it says is of its own day."""
    run("log", "cups", "all L3", "--on", "2026-03-16T09:00", "--by", "KT")
    rows = ["individual,at,stage,by", "1,2026-03-15T15:30,L2,MB", "2,2026-03-15T15:30,L3,MB"]
    Path("tapped.csv").write_text("\n".join(rows))
    run("import", "cups", "tapped.csv")
    assert doubts(run) == []
    assert [each["stage"] for each in answer(run, "history", "cups", "1")["observations"]] == [
        "L1", "L2", "L3", "L2",
    ]  # fmt: skip
    rows = answer(run, "durations", "cups")["individuals"]
    low = {each["individual"]: each["low"] for each in rows if each["stage"] == "L2"}
    assert low["1"] > low["3"]  # it was still L2 on the afternoon before


def test_an_l5_the_day_after_an_l1(run: Run, folder: Path) -> None:
    run("start", "cups", "--species", "painted-lady", "--eggs", "1", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
    run("temps", "cups", "--constant", "22", "--from", "2026-03-08")
    run("log", "cups", "1 L1", "--on", "2026-03-12")
    told = run("log", "cups", "1 L5", "--on", "2026-03-13").stderr
    assert "In doubt: 1 at 2026-03-13 09:00 (@2): L5 is 1.0 days after L1" in told
    assert "@1 says L1" in told
    assert doubts(run) == [[2, 1]]
    for day in ("14", "15"):
        run("log", "cups", "1 L2", "--on", f"2026-03-{day}")
    told = run("today", "cups").stderr
    assert "taken for the mistake: @2" in told
    assert stages_of(run, "1").keys() == {"egg", "L1", "L2"}
    assert {each["stage"] for each in answer(run, "durations", "cups")["individuals"]} == {
        "egg", "L1", "L2",
    }  # fmt: skip
    run("chart", "progress", "cups", "-o", "progress.svg")
    drawn = Path("progress.svg").read_text()
    for never in ("L3", "L4", "L5"):
        assert f"-{never}-" not in drawn


def test_pupated_and_emerged_are_stages(run: Run, cups: Path) -> None:
    run("log", "cups", "1 pupated; 2 emerged", "--on", "11 April 2026")
    said = [each["stage"] for each in answer(run, "history", "cups")["observations"][-2:]]
    assert said == ["pupa", "adult"]
