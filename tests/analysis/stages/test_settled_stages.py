"""Stages of looks that said “no change”: those that the looks around them are settled to mean."""

import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.settled_stages import doubtful_rows, settled_stages
from rearlog.records.derived_stages import derived_stages
from rearlog.records.log import CohortLog
from tests.builders import seen, tiny_log


def looked(line: str) -> CohortLog:
    """One individual that entered as an egg, looked at each day; `=` says no change."""
    looks = [
        replace(seen("1", day, "L1"), stage=None, same=True)
        if word == "="
        else seen("1", day, word)
        for day, word in enumerate(line.split(), start=1)
    ]
    numbered = tuple(replace(each, number=place) for place, each in enumerate(looks, start=1))
    return replace(tiny_log({"1": "egg"}), all_observations=numbered)


@pytest.mark.parametrize(
    ("line", "stages"),
    [
        ("= L1 = L2 =", ["egg", "L1", "L2"]),
        ("L1 L2 = L1 = L1 =", ["L1", "L1", "L1"]),  # L2 was the mistake
        ("L1 L2 L2 L1 = L2", ["L2"]),  # the second L1 was
        ("L1 L2 = L1 =", ["L1", "L1"]),  # either was: it is not claimed that it came into L2
        ("L1 = dead = L2 L2 =", ["L1", "L1", "L2"]),
    ],
)
def test_no_change_follows_what_the_looks_mean(line: str, stages: list[str]) -> None:
    log = looked(line)
    found = settled_stages(log)
    assert [*found.values()] == stages
    assert found.keys() == derived_stages(log).keys()


def test_rows_are_those_of_the_individuals_whose_looks_contradict_each_other() -> None:
    lives = {"1": "egg L1 L2", "2": "egg L2 L1", "3": "egg L1 dead", "4": "egg dead L1"}
    assert doubtful_rows(event_history(tiny_log(lives))) == {"2": 1, "4": 3}
