"""Runs of instars, and the names that stages have of themselves."""

import tomllib

import pytest

from rearlog.species.loader import check
from rearlog.species.shorthand import codes_of, stage_name, written_out


@pytest.mark.parametrize(
    ("code", "codes"),
    [
        ("L1", ["L1"]),
        ("L9-L11", ["L9", "L10", "L11"]),
        ("N1-N2", ["N1", "N2"]),
        ("L3-L1", ["L3-L1"]),
        ("L1-N3", ["L1-N3"]),
        ("egg-pupa", ["egg-pupa"]),
        ("L1-L999999999", ["L1-L999999999"]),
    ],
)
def test_runs_of_instars(code: str, codes: list[str]) -> None:
    assert codes_of(code) == codes


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("egg", "egg"),
        ("L3", "third instar"),
        ("N2", "second nymphal instar"),
        ("L10", "10th instar"),
        ("L11", "11th instar"),
        ("L13", "13th instar"),
        ("L21", "21st instar"),
        ("L22", "22nd instar"),
        ("L23", "23rd instar"),
        ("pupa", "pupa"),
    ],
)
def test_usual_names(code: str, name: str) -> None:
    assert stage_name(code) == name


def test_a_run_stands_for_stages_that_are_alike() -> None:
    document = written_out({"stages": [{"code": "L2-L4", "optional": True}, {"code": "pupa"}]})
    assert [stage["code"] for stage in document["stages"]] == ["L2", "L3", "L4", "pupa"]
    assert [stage.get("optional") for stage in document["stages"]] == [True, True, True, None]


def test_a_name_in_the_file_is_kept() -> None:
    document = written_out({"stages": [{"code": "pupa", "name": "chrysalis"}]})
    assert document["stages"][0]["name"] == "chrysalis"


def test_a_backward_run_is_a_mistake() -> None:
    messages = [str(each) for each in check(tomllib.loads('[[stages]]\ncode = "L3-L1"'))]
    assert any("stage L3-L1: “L3-L1” is not a stage code" in each for each in messages)
