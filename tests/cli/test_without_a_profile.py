"""A cohort of which nothing is known but its stages: every answer says what can be said."""

import json
import re
from pathlib import Path

import pytest

from rearlog.present.pictures import KINDS
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run
from tests.unnamed_species import growing, moths
from tests.web.shelves import put

NONSENSE = re.compile(r"\b(None|nan|NaN|inf)\b")


@pytest.fixture
def shelf(folder: Path) -> Path:
    for log in (moths(), moths("slow", slow=True), moths("warm", temperatures=True), growing()):
        put(folder, log)
    return folder


def test_it_starts_with_its_stages(run: Run, folder: Path) -> None:
    stages = ("--stages", "egg,l1-L5,L6?,pupa,adult")
    result = run("start", "moths", *stages, "--eggs", "12", "--zone", "UTC", "--on", "2026-04-01")
    assert "Started moths: 12 × egg, 1 to 12, on " in result.stderr
    profile = CohortFile(folder / "moths.json").read().cohort.species
    assert profile.codes == ("egg", "L1", "L2", "L3", "L4", "L5", "L6", "pupa", "adult")
    run("log", "moths", "1-3 L1; rest same", "--on", "2026-04-05")
    later = run("log", "moths", "1 egg", "--on", "2026-04-06")
    assert "egg comes before L1" in later.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "say what they are: --species ID, or --stages CODES"),
        (["--species", "monarch", "--stages", "egg,adult"], "say what they are"),
        (["--stages", "egg,L1-L5,puppe,adult"], "stages, stage puppe: “puppe” is not a stage"),
        (["--stages", "egg,adult", "--stage", "L2"], "there is no stage L2"),
    ],
)
def test_starts_that_cannot_be(run: Run, folder: Path, words: list[str], told: str) -> None:
    assert told in run("start", "moths", *words, "--eggs", "3", fails=2).stderr
    assert not (folder / "moths.json").exists()


@pytest.mark.parametrize("form", ["table", "json", "csv"])
@pytest.mark.parametrize(
    "command",
    [
        "durations moths", "survival moths", "survival moths --from adult", "growth moths",
        "agreement moths", "forecast moths", "forecast growing", "forecast growing --past slow",
        "forecast growing --as-of 2026-03-11 --individuals", "today", "today growing",
        "history growing", "compare moths slow", "compare warm slow --lower 8",
        "heat warm --lower 8", "heat warm --lower 8 --daily", "species show moths",
        "identify --cohort moths --head 0.42",
    ],
)  # fmt: skip
def test_answers_say_what_can_be_said(run: Run, shelf: Path, command: str, form: str) -> None:
    words = command.split()
    if words[0] == "history" and form == "csv":
        pytest.skip("a history is no table of one kind")
    result = run(*words, "--format", form)
    assert not NONSENSE.search(result.output)
    if form == "json":
        json.loads(result.stdout)


def test_a_forecast_says_why_there_is_none_and_how_there_will_be(run: Run, shelf: Path) -> None:
    for command in (["today", "growing"], ["forecast", "growing", "--past", "slow"]):
        told = " ".join(run(*command).output.split())
        assert "cannot be foretold" in told
        assert "Nothing can be foretold: nobody has said how long the stages" in told
        assert "rearlog species learn COHORT -o FILE" in told
        assert "told what to expect" not in told


def test_heat_needs_a_threshold(run: Run, shelf: Path) -> None:
    told = run("heat", "warm", fails=2).stderr
    assert "no lower developmental threshold" in told
    assert "“rearlog heat COHORT --lower CELSIUS”" in told
    assert "heat above 8 °C" in run("heat", "warm", "--lower", "8").stdout


def test_durations_expect_nothing(run: Run, shelf: Path) -> None:
    found = json.loads(run("durations", "moths", "--format", "json").stdout)
    completed = [each for each in found["stages"] if each["completed"]]
    assert len(completed) == 3  # nobody knows when the eggs were laid
    assert {each["verdict"] for each in completed} == {"nothing expected"}
    assert [each["expected"] for each in found["stages"]] == [None] * len(found["stages"])


@pytest.mark.parametrize("kind", KINDS)
def test_charts_are_drawn(run: Run, shelf: Path, kind: str) -> None:
    fails = 2 if kind in ("heat", "reproduction") else 0
    cohorts = ["growing"] if kind == "forecast" else ["moths", "slow"]
    result = run("chart", kind, *cohorts, "-o", f"{kind}.svg", fails=fails)
    assert (shelf / f"{kind}.svg").exists() == (not fails)
    assert not NONSENSE.search(result.output)


def test_what_is_printed_and_passed_on(run: Run, shelf: Path) -> None:
    run("sheet", "growing", "-o", "week.pdf")
    run("sheet", "growing", "--tap", "-o", "tap.html")
    run("card", "--cohort", "moths", "-o", "card.pdf")
    run("export", "moths", "slow", "-o", "open.zip", "--licence", "CC0-1.0", "--no-names")
    (shelf / "elsewhere").mkdir()
    run("unpack", "open.zip", "--into", "elsewhere")
    assert CohortFile(shelf / "elsewhere" / "moths.json").read().cohort.species == (
        moths().cohort.species
    )
    run("verify", "moths")
