"""What a device tells twice is written once, whatever became of it meanwhile."""

from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.records.errors import RecordError
from rearlog.records.incoming import telling
from rearlog.records.log import Mark, Observation
from rearlog.store.cohort_file import CohortFile
from rearlog.store.correcting import correct
from tests.builders import START, tiny_log

LATER = START + timedelta(days=2)
LOOK = Observation("1", START + timedelta(days=1), "egg", by="KT", token="device-1-look-1")


@pytest.fixture
def file(tmp_path: Path) -> CohortFile:
    log = tiny_log({"1": "egg", "2": "egg"})
    file = CohortFile(tmp_path / "tiny.json")
    file.create(log.cohort, log.individuals)
    return file


def told(file: CohortFile, *looks: Observation) -> int:
    return len(file.record([telling(looks)], LATER, {each.individual for each in looks}).checks)


def test_a_look_that_is_told_again_is_not_written_again(file: CohortFile) -> None:
    assert told(file, LOOK) == 1
    before = file.path.read_bytes()
    assert told(file, replace(LOOK, at=LOOK.at + timedelta(seconds=3))) == 0
    assert file.path.read_bytes() == before


def test_a_look_that_was_struck_out_does_not_come_back(file: CohortFile) -> None:
    told(file, LOOK)
    file.strike([1], [], Mark(LATER, "a slip"))
    assert told(file, LOOK) == 0
    assert file.read().checks["1"] == []


def test_another_look_beside_it_is_taken(file: CohortFile) -> None:
    told(file, LOOK)
    assert told(file, LOOK, replace(LOOK, token="device-1-look-2", individual="2")) == 1


def test_a_token_that_could_not_be_read_again_is_refused(file: CohortFile) -> None:
    with pytest.raises(RecordError, match="token is not 8 to 64 letters"):
        told(file, replace(LOOK, token="no token"))


def test_a_corrected_look_is_another_one(file: CohortFile) -> None:
    told(file, LOOK)
    day = LOOK.at.date()
    correct(file, "1", "L1", (day, day), Mark(LATER, "looked again"), LATER)
    assert [(each.stage, each.token) for each in file.read().checks["1"]] == [("L1", None)]
