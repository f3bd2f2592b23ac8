"""`table` as people meet it: on the screen, in a file, and told what it cannot do."""

import csv
from pathlib import Path

import pytest

from rearlog.cli import table as command
from rearlog.present.journal import TABLES
from rearlog.present.journal_forms import WRITERS
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM, WARM = (str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))


def test_the_command_offers_what_there_is() -> None:
    assert tuple(TABLES) == command.WHAT
    assert ("table", *WRITERS) == command.FORMS
    assert set(command.ENDINGS.values()) == set(WRITERS)


def test_on_the_screen_it_has_means_errors_numbers_and_letters(run: Run) -> None:
    text = run("table", "durations", COOL, ROOM, WARM).stdout
    (line,) = [each for each in text.splitlines() if each.startswith(" pupa ")]
    assert " ".join(line.split()) == (
        "pupa 11.40 ± 0.18 (18) c 8.19 ± 0.16 (17) b 5.95 ± 0.19 (17) a"
    )
    assert "cool (18.0 °C)" in text


@pytest.mark.parametrize(
    ("name", "begin"),
    [
        ("t.tex", "% In the preamble"),
        ("t.md", "Days in each stage (*Vanessa cardui*)"),
        ("t.HTML", "<table>"),
        ("t.csv", "stage,cohort,celsius,estimate,se,low,high,n,letters,note"),
    ],
)
def test_the_ending_of_a_file_says_the_form(run: Run, folder: Path, name: str, begin: str) -> None:
    told = run("table", "durations", COOL, WARM, "-o", name)
    assert told.stderr == f"Wrote durations of cool, warm in {name}\n"
    assert (folder / name).read_text(encoding="utf-8").startswith(begin)
    assert f"{name} exists already" in run("table", "durations", COOL, "-o", name, fails=2).stderr
    run("table", "heat", COOL, WARM, "-o", name, "--force", "--quiet")
    assert (folder / name).read_text(encoding="utf-8") != ""


def test_a_form_may_be_asked_for_whatever_the_ending(run: Run, folder: Path) -> None:
    run("table", "growth", ROOM, "-o", "t.txt", "--format", "markdown")
    assert (folder / "t.txt").read_text(encoding="utf-8") == (
        run("table", "growth", ROOM, "--format", "markdown").stdout
    )


def test_a_file_without_a_form_is_refused(run: Run) -> None:
    for more in ([], ["--format", "table"]):
        told = run("table", "growth", ROOM, "-o", "t.txt", *more, fails=2).stderr
        assert "t.txt does not say its form" in told


def test_the_csv_is_the_same_on_the_screen_and_in_the_file(run: Run, folder: Path) -> None:
    run("table", "survival", COOL, ROOM, "-o", "t.csv")
    text = (folder / "t.csv").read_bytes()
    assert text == run("table", "survival", COOL, ROOM, "--format", "csv").stdout_bytes
    lines = list(csv.DictReader(text.decode().splitlines()))
    assert len(lines) == 2 * 8
    assert {line["letters"] for line in lines} == {""}
    assert lines[0]["stage"] == "died as egg"
