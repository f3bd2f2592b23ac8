"""A small cohort file to be mistreated."""

from datetime import datetime
from pathlib import Path

import pytest

from rearlog.records.incoming import telling
from rearlog.records.log import Cohort, Individual, Observation
from rearlog.store.cohort_file import CohortFile
from tests.builders import START, moment, seen, small_profile

NOW = moment(40)


def header(name: str = "room") -> Cohort:
    return Cohort(name, small_profile(), "UTC", START, START)


def started(path: Path, count: int = 3) -> CohortFile:
    """A new cohort file with the individuals 1, 2 …, eggs at the start."""
    file = CohortFile(path)
    file.create(header(), [Individual(str(code), START, "egg") for code in range(1, count + 1)])
    return file


def add(file: CohortFile, *checks: Observation, now: datetime = NOW) -> list[Observation]:
    return file.record([telling(checks)], now, {each.individual for each in checks}).checks


def states(file: CohortFile) -> list[str]:
    """The records that stand, as `1 L1`."""
    return [
        f"{each.individual} {each.fate or each.stage}"
        for each in file.read().all_observations
        if each.struck is None
    ]


def backup_names(path: Path) -> list[str]:
    return sorted(
        each.name
        for each in (path.parent / ".rearlog").iterdir()
        if not each.name.endswith(".lock")
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "room.json"


@pytest.fixture
def room(path: Path) -> CohortFile:
    """Three eggs, of which 1 and 2 have hatched."""
    file = started(path)
    add(file, seen("1", 1, "L1"), seen("2", 1, "L1"))
    return file
