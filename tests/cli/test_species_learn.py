"""From one's own cohorts to a profile, and with it to the next cohort."""

import json
import re
import shutil
from pathlib import Path

import pytest

from rearlog.species.catalogue import find
from tests.cli.conftest import Run
from tests.unnamed_species import growing, moths
from tests.web.shelves import put

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


@pytest.fixture
def shelves(folder: Path) -> Path:
    for path in SAMPLES.glob("*.json"):
        shutil.copy(path, folder)
    return folder


def test_what_the_first_cohorts_told_foretells_the_next(
    run: Run, shelves: Path, folder: Path
) -> None:
    result = run("species", "learn", "cool", "room", "warm", "-o", "ours.toml")
    assert (
        "Learned of cool, room and warm: days of 7 stages, degree-days of 7 stages, head wid"
        in (result.stderr)
    )
    assert "in order, 8 stages" in run("species", "check", "ours.toml").stderr
    text = (folder / "ours.toml").read_text(encoding="utf-8")
    days = re.findall(r"days = \{ value = [\d.]+, sd = ([\d.]+), at_celsius = \[([\d.]+)", text)
    decimals = [[len(each.partition(".")[2]) for each in pair] for pair in days]
    assert max(sd for sd, _ in decimals) == 3
    assert max(celsius for _, celsius in decimals) == 1
    profile = find("ours.toml")
    pupa = profile.stage("pupa").degree_days
    assert pupa is not None
    assert pupa.source == "own-cohorts"
    run("start", "next", "--species", "ours.toml", "--eggs", "5", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
    run("temps", "next", "--constant", "22")
    forecast = json.loads(
        run("forecast", "next", "--as-of", "2026-03-12", "--format", "json").stdout
    )
    expected = {each["stage"]: each["profile"] for each in forecast["paces"]}
    assert expected["pupa"] == pupa.value
    assert forecast["events"][-1]["likely"] is not None


def test_a_species_of_which_nothing_was_known(run: Run, folder: Path) -> None:
    put(folder, moths())
    result = run("species", "learn", "moths", "-o", "brown-moth.toml")
    assert "Learned of moths: days of 3 stages and head widths of 2 instars." in result.stderr
    text = (folder / "brown-moth.toml").read_text(encoding="utf-8")
    assert "# No lower threshold is known" in text
    assert "# No days: 0 tell of them, fewer than 5." in text  # nobody knows when eggs were laid
    run("start", "second", "--species", "brown-moth.toml", "--larvae", "5", "--stage", "L1",
        "--on", "2026-03-09", "--zone", "UTC")  # fmt: skip
    forecast = json.loads(
        run("forecast", "second", "--as-of", "2026-03-09T10:00", "--format", "json").stdout
    )
    likely = [each["likely"] for each in forecast["events"]]
    assert len(likely) == 3
    assert "2026-03-10" <= likely[0] < likely[1] < likely[2] <= "2026-03-16"


def test_nothing_is_written_where_nothing_can_be_learned(run: Run, folder: Path) -> None:
    put(folder, growing())
    told = run("species", "learn", "growing", "-o", "x.toml", fails=2).stderr
    assert "nothing can be learned yet: fewer than five" in told
    assert not (folder / "x.toml").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["room", "room"], "given twice"),
        (["room", "other"], "not of the same species"),
        (["nobody"], "nobody.json"),
    ],
)
def test_cohorts_that_cannot_be_learned_of(
    run: Run, shelves: Path, words: list[str], told: str
) -> None:
    run("start", "other", "--species", "monarch", "--eggs", "3")
    fails = 1 if words == ["nobody"] else 2
    assert told in run("species", "learn", *words, "-o", "x.toml", fails=fails).stderr
    assert not (shelves / "x.toml").exists()


def test_a_file_that_is_there_is_kept(run: Run, shelves: Path) -> None:
    (shelves / "x.toml").write_text("mine")
    assert "exists already" in run("species", "learn", "room", "-o", "x.toml", fails=2).stderr
    assert "end its name in .toml" in run("species", "learn", "room", "-o", "x", fails=2).stderr
    assert (shelves / "x.toml").read_text() == "mine"
    run("species", "learn", "room", "-o", "x.toml", "--force")
