import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run


@pytest.fixture
def warm(run: Run, room: Path) -> Path:
    """The room's five eggs at 22 °C, hatched within the week but for one that died."""
    run("temps", "room", "--constant", "22", "--from", "2026-03-08", "--to", "2026-04-30")
    for day, line in ((10, "all same"), (12, "all same"), (13, "1-4 L1; 5 dead"), (16, "all same")):
        words = line.replace("all", "1-4") if day > 13 else line
        run("log", "room", words, "--on", f"2026-03-{day}")
    return room


def answer(run: Run, *words: str) -> dict[str, Any]:
    found = json.loads(run("forecast", "room", *words, "--format", "json").stdout)
    assert isinstance(found, dict)
    return found


def test_the_json_has_the_keys_that_others_rely_on(run: Run, warm: Path) -> None:
    found = answer(run, "--as-of", "2026-03-16")
    assert {"cohort", "as_of", "temperature", "individuals", "events"} < set(found)
    assert (found["cohort"], found["as_of"], found["temperature"]) == ("room", "2026-03-16", 22)
    assert isinstance(found["individuals"], list)
    assert isinstance(found["events"], list)
    assert {"individual", "stage", "event", "earliest", "likely", "latest"} < set(
        found["individuals"][0]
    )
    assert {"event", "earliest", "likely", "latest", "n"} < set(found["events"][0])
    assert [each["event"] for each in found["events"]][-1] == "eclosion"
    assert [each["n"] for each in found["events"]] == [4] * len(found["events"])


def test_people_see_windows_and_what_they_rest_on(run: Run, warm: Path) -> None:
    shown = run("forecast", "room", "--as-of", "2026-03-16", "--full").stdout
    assert "eclosion" in shown
    assert "22.0 °C, the mean of the last 7 days" in " ".join(shown.split())
    assert "adjusted" in shown


def test_a_day_alone_is_taken_to_its_end_and_an_hour_to_the_minute(run: Run, warm: Path) -> None:
    whole = answer(run, "--as-of", "2026-03-13")["known_until"]
    assert whole == "2026-03-13T23:59:59+00:00"
    assert answer(run, "--as-of", "2026-03-13T08:00")["known_until"] == "2026-03-13T08:00:00+00:00"


def test_each_individual_has_its_rows(run: Run, warm: Path) -> None:
    out = run(
        "forecast", "room", "--individuals", "--as-of", "2026-03-16", "--format", "csv"
    ).stdout
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [row["individual"] for row in rows] == ["1", "1", "2", "2", "3", "3", "4", "4"]
    assert rows[0]["event"] == "molt to L2"
    assert "overdue" in run("forecast", "room", "--individuals", "--as-of", "2026-03-16").stdout


def test_a_temperature_to_come_brings_them_forward(run: Run, warm: Path, folder: Path) -> None:
    (folder / "ahead.csv").write_text("date,min_f,max_f\n2026-03-17,75,80\n2026-03-18,75,80\n")
    usual = answer(run, "--as-of", "2026-03-16")
    for words in (["--temp", "26"], ["--temps", "ahead.csv"]):
        found = answer(run, "--as-of", "2026-03-16", *words)
        assert found["events"][-1]["likely"] < usual["events"][-1]["likely"]


def test_the_question_turned_round(run: Run, warm: Path) -> None:
    words = ["--as-of", "2026-03-16", "--by", "2026-04-06"]
    found = answer(run, *words)
    half, most = found["aims"]
    assert 20 < half["celsius"] < most["celsius"] < 30
    assert "laid by" in run("forecast", "room", *words).stdout


def test_past_forecasts_beside_what_happened(run: Run, warm: Path) -> None:
    found = answer(run, "--review")
    assert [each["n"] for each in found["reviews"]] == [4, 4]  # type: ignore[attr-defined]
    assert "next event" in run("forecast", "room", "--review").stdout


def test_notices_go_to_standard_error_and_can_be_silenced(run: Run, warm: Path) -> None:
    cold = run("forecast", "room", "--as-of", "2026-03-16", "--temp", "18")
    assert "Extrapolated" in cold.stderr
    assert "Extrapolated" not in cold.stdout
    quiet = run("forecast", "room", "--as-of", "2026-03-16", "--temp", "18", "--quiet")
    assert quiet.stderr == ""


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--temp", "20", "--temps", "ahead.csv"], "not both"),
        (["--temp", "200"], "200"),
        (["--review", "--by", "2026-04-03"], "stands alone"),
        (["--by", "2026-04-03", "--individuals"], "of the cohort"),
        (["--by", "soon"], "write it as"),
        (["--by", "2026-03-10"], "not a day to come"),
        (["--as-of", "2999-01-01"], "in the future"),
        (["--as-of", "2026-01-01"], "before the cohort's start"),
        (["--as-of", "03/16/26"], "not a date"),
    ],
)
def test_calls_that_make_no_sense(run: Run, warm: Path, words: list[str], message: str) -> None:
    assert message in run("forecast", "room", *words, fails=2).stderr


def test_a_file_that_cannot_be_read_is_refused(run: Run, warm: Path, folder: Path) -> None:
    (folder / "ahead.csv").write_text("date,min_c,max_c\n2026-03-17,30,20\n")
    assert "line 2" in run("forecast", "room", "--temps", "ahead.csv", fails=1).stderr


@pytest.fixture
def bare(run: Run, warm: Path) -> Path:
    """A cohort of the same species without any temperature."""
    start = "--species painted-lady --eggs 5 --on 2026-03-09 --zone UTC --laid 2026-03-08"
    run("start", "bare", *start.split())
    return warm


@pytest.mark.parametrize(("asked", "past"), [("room", "bare"), ("bare", "room")])
def test_a_past_cohort_counted_otherwise_is_refused_with_what_to_do(
    run: Run, bare: Path, asked: str, past: str
) -> None:
    told = run("forecast", asked, "--past", past, "--as-of", "2026-03-16", fails=2).stderr
    told = " ".join(told.split())
    units = {"room": "degree-days", "bare": "days"}
    assert f"{past} counts development in {units[past]}, {asked} in {units[asked]}" in told
    assert "record the temperatures of bare with “rearlog temps bare”" in told
    assert f", or leave {past} out" in told
    run("temps", "bare", "--constant", "22", "--from", "2026-03-08", "--to", "2026-04-30")
    run("forecast", asked, "--past", past, "--as-of", "2026-03-16")
