"""`simulate` and `plan`."""

import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from rearlog.records.log import ConstantTemperature, DayExtremes
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run

LADIES = ("--species", "painted-lady")
SHELF = (*LADIES, "--eggs", "20", "--temp", "24", "--zone", "Europe/London")


# --- simulate ------------------------------------------------------------------------------------


def test_a_simulated_cohort_is_sound_marked_and_over(run: Run, folder: Path) -> None:
    told = run("simulate", "demo", *SHELF).stderr
    log = CohortFile(folder / "demo.json").read()
    last = max(check.at for check in log.all_observations)

    assert told.startswith("Invented demo.json: 20 × egg of painted lady, looked at until 20")
    assert log.cohort.invented
    assert 0 <= (datetime.now(UTC) - last).days <= 2
    assert [check.stage for check in log.all_observations].count("adult") == 20
    (kept,) = log.temperatures
    assert isinstance(kept, ConstantTemperature)
    assert (kept.celsius, kept.last) == (24.0, last.date())
    assert "sound" in run("verify", "demo").stdout


def test_the_same_seed_gives_the_same_animals(run: Run, folder: Path) -> None:
    for name, seed in (("a", "4"), ("b", "4"), ("c", "5")):
        run("simulate", name, *SHELF, "--on", "2026-03-09", "--seed", seed)
    a, b, c = (
        [(check.individual, check.at, check.stage) for check in log.all_observations]
        for log in (CohortFile(folder / f"{name}.json").read() for name in "abc")
    )
    assert a == b
    assert a != c


def test_a_fixed_day_decides_when_it_starts(run: Run, folder: Path) -> None:
    run("simulate", "demo", *SHELF, "--on", "2026-03-09", "--check-time", "08:40")
    log = CohortFile(folder / "demo.json").read()
    assert f"{log.cohort.started:%Y-%m-%d %H:%M}" == "2026-03-09 08:40"
    laid = log.individuals[0]
    assert laid.laid_after is not None
    assert laid.laid_by is not None
    assert (laid.laid_by - laid.laid_after).total_seconds() == 86_400


def test_who_dies_who_is_lost_and_when_nobody_looks(run: Run, folder: Path) -> None:
    run("simulate", "demo", *SHELF, "--on", "2026-03-09", "--no-weekends",
        "--forget", "2026-03-12", "--mortality", "egg=0.5:mould, shrivelled",
        "--mortality", "L1=0.9", "--loss", "0.2", "--measure", "0.5")  # fmt: skip
    checks = CohortFile(folder / "demo.json").read().all_observations
    days = {check.at.date() for check in checks}

    assert {check.cause for check in checks if check.stage == "egg" and check.fate} <= {
        "mould",
        "shrivelled",
    }
    assert sum(check.fate == "dead" for check in checks) > 10
    assert date(2026, 3, 12) not in days
    assert not any(day.weekday() >= 5 for day in days)
    assert len({check.individual for check in checks if check.head_width_mm}) > 0


def test_temperatures_come_from_a_file(run: Run, folder: Path) -> None:
    lines = [f"{date(2026, 5, 1 + day)},18,26" for day in range(31)]
    lines += [f"{date(2026, 6, 1 + day)},18,26" for day in range(20)]
    (folder / "window.csv").write_text("date,min_c,max_c\n" + "\n".join(lines) + "\n")
    run("simulate", "demo", *LADIES, "--eggs", "5", "--temps", "window.csv", "--zone", "UTC")
    log = CohortFile(folder / "demo.json").read()

    assert log.cohort.started.date() == date(2026, 5, 2)
    assert len(log.temperatures) == 51
    assert all(isinstance(each, DayExtremes) for each in log.temperatures)
    heat = json.loads(run("heat", "demo", "--format", "json").stdout)
    assert heat["coverage"]["missing"] == 0


def test_a_file_that_ends_too_soon_is_said_to_go_on(run: Run, folder: Path) -> None:
    rows = "".join(f"{date(2026, 5, 1 + day)},18,26\n" for day in range(15))
    (folder / "window.csv").write_text(f"date,min_c,max_c\n{rows}")
    told = run("simulate", "demo", *LADIES, "--eggs", "5", "--temps", "window.csv").stderr
    assert "Note: after 2026-05-15 the mean temperature of the last days goes on." in told


def test_nothing_is_overwritten(run: Run, folder: Path) -> None:
    run("simulate", "demo", *SHELF)
    before = (folder / "demo.json").read_bytes()
    assert "exists already" in run("simulate", "demo", *SHELF, "--seed", "2", fails=2).stderr
    assert (folder / "demo.json").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((*LADIES, "--eggs", "5"), "--temp C, or --temps FILE"),
        ((*SHELF, "--temps", "window.csv"), "--temp C, or --temps FILE"),
        ((*SHELF, "--on", "today"), "in the future"),
        ((*SHELF, "--mortality", "L1"), "“L1” is no mortality"),
        ((*SHELF, "--mortality", "L9=0.1"), "no stage L9"),
        ((*SHELF, "--mortality", "L1=3"), "not between 0 and 1"),
        ((*SHELF, "--every", "7", "--no-weekends", "--on", "2026-03-07"), "on a weekend"),
        ((*LADIES, "--eggs", "5", "--temp", "5"), "above 6.9 °C"),
        (("--species", "mealworm", "--eggs", "5", "--temp", "25"), "threshold"),
        (("--species", "unicorn", "--eggs", "5", "--temp", "25"), "unicorn"),
    ],
)
def test_what_cannot_be_simulated_leaves_no_file(
    run: Run, folder: Path, words: tuple[str, ...], message: str
) -> None:
    result = run("simulate", "demo", *words, fails=2)
    assert message in result.stderr
    assert list(folder.iterdir()) == []


# --- plan ----------------------------------------------------------------------------------------


PLAN = ("plan", *LADIES, "--temp", "22", "--runs", "100")


def test_a_plan_says_how_many_and_how_sure(run: Run) -> None:
    shown = run(*PLAN, "--difference", "2", "--full").stdout
    assert "egg to adult" in shown
    assert "individuals that complete it in each cohort show a difference of 2 days" in shown
    assert "95 % limits" in shown
    assert "checks every day." in " ".join(shown.split())
    seldom = run(*PLAN, "--difference", "6", "--every", "2", "--full").stdout
    assert "checks every 2 days." in " ".join(seldom.split())
    found = json.loads(run(*PLAN, "--difference", "2", "--format", "json").stdout)
    assert 3 <= found["n"] <= 40
    assert found["table"][-1]["power"] >= 0.8
    assert found["other_days"] - found["days"] == pytest.approx(2)
    assert run(*PLAN, "--difference", "2", "--format", "csv").stdout.startswith("n,power,low,high")


def test_two_temperatures_and_a_span(run: Run) -> None:
    words = ("--other-temp", "18", "--from", "L1", "--to", "pupa", "--format", "json")
    found = json.loads(run(*PLAN, *words).stdout)
    assert (found["stage"], found["until"], found["other_celsius"]) == ("L1", "pupa", 18)
    assert found["difference_days"] > 3


def test_progress_is_for_terminals(run: Run) -> None:
    assert run(*PLAN, "--difference", "2").stderr == ""


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "either the difference"),
        (("--difference", "1", "--other-temp", "20"), "either the difference"),
        (("--other-temp", "5"), "not above the lower"),
        (("--difference", "1", "--from", "L9"), "no stage L9"),
    ],
)
def test_plans_that_make_no_sense(run: Run, words: tuple[str, ...], message: str) -> None:
    assert message in run(*PLAN, *words, fails=2).stderr
