"""`rearlog` by itself, in folders as people have them."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from rearlog.cli.next_steps import MOST_READ
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


def commands(text: str) -> list[str]:
    return re.findall(r"^     (rearlog .*)$", text, flags=re.M)


@pytest.mark.usefixtures("no_waiting")
def test_in_an_empty_folder_every_command_can_be_typed(run: Run, folder: Path) -> None:
    text = run().stdout
    assert text.startswith("In this folder: no cohort yet. What to do next:\n\n1. Start a cohort")
    assert len(re.findall(r"^\d\. ", text, flags=re.M)) == 3
    assert max(map(len, text.splitlines())) <= 80
    for line in commands(text):
        run(*shlex.split(line)[1:])
    assert (folder / "trial.html").exists()


def test_a_round_that_is_due_and_its_temperatures(run: Run, room: Path) -> None:
    text = run().stdout
    assert "In this folder: 1 cohort." in text
    flat = " ".join(text.split())
    assert re.search(r"1\. room: nobody has looked since Mon 9 Mar, \d+ days ago\.", flat)
    assert commands(text)[0] == "rearlog check room"
    assert commands(text)[1].startswith("rearlog temps room --min LOWEST --max HIGHEST --on 20")
    assert commands(text)[-1] == "rearlog today"


def test_when_all_have_been_released_the_report_is_next(run: Run, folder: Path) -> None:
    for path in SAMPLES.glob("*.json"):
        shutil.copy(path, folder)
    first = commands(run().stdout)[0]
    assert first == "rearlog report cool room warm -o report.html"


def test_a_damaged_file_is_named_and_the_others_too(run: Run, room: Path, folder: Path) -> None:
    (folder / "old.json").write_text('{"file":{', encoding="utf-8")
    assert commands(run().stdout)[:2] == ["rearlog verify old", "rearlog check room"]


def test_a_folder_of_ones_own(
    run: Run, room: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "shelf").mkdir()
    room.rename(folder / "shelf" / "room.json")
    monkeypatch.setenv("REARLOG_DIR", "shelf")
    assert commands(run().stdout)[0] == "rearlog check room"


def test_of_very_many_cohorts_those_written_to_last_are_looked_into(
    run: Run, room: Path, folder: Path
) -> None:
    for number in range(MOST_READ):
        copy = folder / f"room{number}.json"
        shutil.copy(SAMPLES / "room.json", copy)
        os.utime(copy, (1.9e9, 1.9e9))
    text = run().stdout
    assert f"{MOST_READ + 1} cohorts; the {MOST_READ} written to last were looked into" in text
    assert "rearlog check room" not in text


def test_it_loads_no_numbers_and_no_pictures(room: Path) -> None:
    code = (
        "import sys; from rearlog.cli.main import main; main([], standalone_mode=False);"
        "print(*sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "rearlog check room" in run.stdout
    loaded = set(run.stdout.splitlines()[-1].split())
    assert "rearlog.records.standing" in loaded
    assert loaded & {"numpy", "scipy", "matplotlib", "rich", "jinja2", "tinydb"} == set()
