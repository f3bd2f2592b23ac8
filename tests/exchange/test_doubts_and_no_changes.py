"""What was said comes back as it was said: a “no change” as such, and looks that contradict."""

import io
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.settled_stages import settled_stages
from rearlog.exchange import bundle, observations_csv
from rearlog.exchange.darwin_core import darwin_core
from rearlog.exchange.data_package import data_package, read_data_package
from rearlog.exchange.publication import Publication
from rearlog.records.derived_stages import derived_stages
from rearlog.records.doubts import all_doubts
from rearlog.records.log import CohortLog, Observation
from rearlog.species.loader import read as read_profile
from tests.builders import moment, seen, tiny_log


def same(day: float, by: str | None = None) -> Observation:
    return replace(seen("1", day, "L1"), stage=None, same=True, by=by)


@pytest.fixture
def log() -> CohortLog:
    """L2 and then L1, seen after it was found dead, and two observers at one moment."""
    looks = [
        *(seen("1", 1, "L1"), same(2), seen("1", 3, "L2"), same(4), seen("1", 5, "L1")),
        *(same(6, "KT"), replace(seen("1", 6, "L2"), by="MB"), seen("1", 7, "dead"), same(8)),
    ]
    numbered = tuple(replace(each, number=place) for place, each in enumerate(looks, start=1))
    return replace(tiny_log({"1": "egg"}), all_observations=numbered)


def test_the_stage_of_a_no_change_is_that_of_the_call_before(log: CohortLog) -> None:
    stages = [(each.number, stage) for each, stage in derived_stages(log).items()]
    assert stages == [(2, "L1"), (4, "L2"), (6, "L1"), (9, "L2")]


def test_tidy_csv(log: CohortLog, tmp_path: Path) -> None:
    text = io.StringIO(newline="")
    observations_csv.write(log.all_observations, text, derived_stages(log))
    lines = text.getvalue().splitlines()
    assert lines[4] == "1,2026-03-13T09:00:00+00:00,L2,,,,,,,,,,yes,,,"
    (tmp_path / "tidy.csv").write_text(text.getvalue(), newline="")
    found = observations_csv.read(tmp_path / "tidy.csv", tiny_log({"1": "egg"}), moment(9))
    assert not found.problems
    assert [each.check for each in found.checks] == [
        replace(each, number=None) for each in log.all_observations
    ]


@pytest.mark.parametrize("kind", ["data package", "Darwin Core archive"])
def test_open_data(log: CohortLog, tmp_path: Path, kind: str) -> None:
    published = Publication((log,))
    packed = kind == "data package"
    make = data_package if packed else darwin_core
    files = make(published, stages_of=settled_stages)
    bundle.write(tmp_path / "data", files)
    (again,) = read_data_package(tmp_path / "data", read_profile, moment(9))
    said = [replace(each, number=None) for each in log.all_observations]
    assert [replace(each, number=None) for each in again.all_observations] == said
    assert len(all_doubts(again)) == len(all_doubts(log)) == 2
