"""What an answer shows unasked fits a screen and opens with a sentence; `--full` has all of it."""

import json
import re
from pathlib import Path

import click
import pytest

from rearlog.cli.main import COMMANDS, main
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM, WARM = (str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))
ALL = (COOL, ROOM, WARM)
DOCK = str(SAMPLES / "life_table" / "dock-22.json")
MONARCH = ("identify", "--species", "monarch", "--head", "1.6")
PLAN = ("plan", "--species", "painted-lady", "--temp", "22", "--other-temp", "24", "--runs", "10")

MOST_LINES = 25
"""What an answer about the sample cohorts may take of a screen."""

ANSWERS = {
    ("durations", ROOM): (
        "room (Vanessa cardui): what became of those who entered each stage",
        "Days in the stage, of those who completed it",
        "Days after which so many had completed it",
        "Expected for egg: ",
    ),
    ("heat", COOL): ("Day by day", "cool: degree-days above 6.9 °C, ", "Days: 45, of which"),
    ("survival", WARM): (
        "warm: survival by stage, n = 24",
        "Mortality by stage",
        "Causes of death",
        "Survival by age in days (Kaplan–Meier)",
        "Survival between the looks (Turnbull)",
        "Life table by age in days",
    ),
    ("reproduction", DOCK): (
        "dock-22 (40 eggs): every figure, of both sexes",
        "dock-22 (40 eggs): of females only, eggs that become daughters",
        "dock-22: life table by age in days",
        "dock-22: life table by age and stage, both sexes",
        "dock-22: stages in a population of stable ages",
    ),
    ("growth", ROOM): ("Measured", "room: head capsule width by instar, mm", "standard error"),
    ("agreement", ROOM): ("Against what all looks together were settled as",),
    ("forecast", ROOM, "--as-of", "2026-03-27"): (
        "Degree-days that the stages take",
        "room (Vanessa cardui): what is to come, as of 2026-03-27",
        "earliest to latest: 90 % of those to come",
    ),
    ("compare", *ALL): (
        "cool, room, warm: days of those that completed it",
        "cool, room, warm: degree-days of those that completed it",
        "cool, room, warm: survival",
        "corrected for the number of stages (Holm)",
        "All differ from each other.",
    ),
    ("thermal", *ALL): (
        "Vanessa cardui: mean days at the mean temperature while in the stage",
        "Lower threshold T0 (°C) and thermal constant K (degree-days)",
        "Residual: ",
        "lack of fit F",
    ),
    MONARCH: ("Danaus plexippus: the evidence", "Probabilities", "Verdict: L3"),
    PLAN: (" days at 22.0 °C, ", "95 % limits"),
    ("season", *ALL): (
        "Days of those that came through, over all cohorts",
        "Mean days, over cohorts or over sites",
        "How far cohorts differ (days)",
        "Threshold T0 (°C) and thermal constant K (degree-days)",
    ),
    ("today", *ALL): ("Due on ",),
}
"""Some calls, and what `--full` tells: all titles that there were before an answer was divided."""


def words_of(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("call", ANSWERS, ids=lambda call: call[0])
def test_an_answer_opens_with_a_sentence_and_fits_a_screen(run: Run, call: tuple[str, ...]) -> None:
    lines = run(*call).stdout.splitlines()
    assert len(lines) <= MOST_LINES
    sentence = words_of("\n".join(lines[: lines.index("")]))
    assert sentence.endswith(".")
    assert sentence.count(". ") == 0


@pytest.mark.parametrize("call", ANSWERS, ids=lambda call: call[0])
def test_all_of_it_is_there_for_the_asking(run: Run, call: tuple[str, ...]) -> None:
    short, full = (words_of(run(*call, *more).stdout) for more in ((), ("--full",)))
    assert full.startswith(short.partition(". ")[0])
    for told in ANSWERS[call]:
        assert words_of(told) in full
    if call[0] not in ("today", "agreement"):
        assert [told for told in ANSWERS[call] if words_of(told) not in short]


@pytest.mark.parametrize("form", ["json", "csv"])
def test_files_for_programs_are_whole_in_any_case(run: Run, form: str) -> None:
    for call in [("durations", ROOM), ("compare", COOL, WARM), ("heat", ROOM), MONARCH]:
        one, other = (run(*call, *more, "--format", form).stdout for more in ((), ("--full",)))
        assert one == other
    if form == "json":
        found = json.loads(run("compare", COOL, WARM, "--format", "json").stdout)
        assert found["lead"] == run("compare", COOL, WARM).stdout.partition("\n\n")[0]


def test_every_answering_command_explains_it_once() -> None:
    answering = {call[0] for call in ANSWERS} | {"lineage"}  # see test_groups.py
    for name in COMMANDS:
        command = main.get_command(click.Context(main), name)  # type: ignore[attr-defined]
        options = [each for each in command.params if "--full" in each.opts]
        assert len(options) == (name in answering), name
        if options:
            assert "how sure" in (options[0].help or "")


def test_what_is_asked_for_by_name_needs_no_full(run: Run) -> None:
    assert "Day by day" in run("heat", ROOM, "--daily").stdout
    assert "(Kaplan–Meier)" in run("survival", ROOM, "--kaplan-meier").stdout
    assert "days of each individual" in run("durations", ROOM, "--individuals").stdout


def test_many_cohorts_are_a_row_each(run: Run) -> None:
    """Seven cohorts side by side would not fit."""
    for n in range(1, 8):
        start = f"c{n} --species painted-lady --eggs 3 --temp {20 + n % 3} --seed {n}"
        run("simulate", *start.split())
    lines = run("compare", *(f"c{n}" for n in range(1, 8))).stdout.splitlines()
    assert len([line for line in lines if re.match(r" c\d  ", line)]) == 7
    assert max(map(len, lines)) <= 100
