"""`explain` as people and programs meet it."""

import json

import pytest

from rearlog.cli.main import COMMANDS
from rearlog.present.explaining import ANSWERS
from tests.cli.conftest import Run


def test_a_number_is_explained_by_its_heading(run: Run) -> None:
    told = " ".join(run("explain", "durations", "days", "on", "average").stdout.split())
    assert told.startswith("days on average, in durations")
    assert "each at the middle between the two looks around it" in told
    assert "made by stages.durations.durations: Summarise stage durations" in told
    assert "checked in tests/analysis/stages/test_durations.py" in told
    assert "also days, mean" in told


def test_programs_get_the_same(run: Run) -> None:
    (told,) = json.loads(run("explain", "survival", "k", "--format", "json").stdout)["meanings"]
    assert told["formula"] == "−log10(1 − q)"
    assert told["made"][0]["sources"] == [
        "Varley, G. C. & Gradwell, G. R. 1960. J. Anim. Ecol. 29:399–401."
    ]


def test_by_itself_it_lists_the_names(run: Run) -> None:
    listed = json.loads(run("explain", "--format", "json").stdout)["answers"]
    assert [each["answer"] for each in listed][:3] == ["durations", "heat", "survival"]
    assert run("explain").stdout.splitlines()[0].strip() == "What can be explained"
    assert run("explain", "--format", "csv").stdout.splitlines()[:2] == [
        "answer,name",
        "durations,cohort",
    ]


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("medain", "did you mean median"),
        ("survivl", "did you mean survival"),
        ("nothing-like-it", "nothing is called “nothing-like-it”"),
    ],
)
def test_a_mistyped_name(run: Run, word: str, told: str) -> None:
    assert told in run("explain", word, fails=2).stderr


def test_answers_are_called_as_their_commands_or_charts_are() -> None:
    assert {each.split(" ")[0] for each in ANSWERS} - {*COMMANDS} == {"stages", "progress"}
