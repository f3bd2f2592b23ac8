"""Every system call of every way of writing fails in turn: nothing is lost, nothing half done."""

import errno
import itertools
import os
import shutil
import warnings
from pathlib import Path

import pytest

from rearlog.disk.notices import DiskWarning
from rearlog.records.errors import StoreError
from rearlog.store.cohort_file import CohortFile
from tests.builders import seen
from tests.store.conftest import add, started, states
from tests.store.disk import Disk, failing
from tests.store.ways import WAYS, prepared, trial


def every_call(folder: Path, way: str, number: int) -> int:
    """How many calls there were to fail."""
    prepared(folder / "before", WAYS[way][0])
    for at in itertools.count(1):
        shutil.copytree(folder / "before", folder / str(at))
        if not trial(folder / str(at), way, at, number):
            return at - 1
    raise AssertionError


def test_every_call_of_logging_fails_in_turn(tmp_path: Path) -> None:
    assert every_call(tmp_path, "log", errno.ENOSPC) > 20


@pytest.mark.slow
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EIO, errno.EROFS])
@pytest.mark.parametrize("way", ["log", "strike", "restore", "accept", "merge"])
def test_every_call_of_every_way_of_writing_fails_in_turn(
    tmp_path: Path, way: str, number: int
) -> None:
    assert every_call(tmp_path, way, number) > 20


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EIO])
def test_every_call_of_starting_a_cohort_fails_in_turn(tmp_path: Path, number: int) -> None:
    for at in itertools.count(1):
        folder = tmp_path / str(at)
        folder.mkdir()
        disk, told = Disk(folder, failing(at, number)), ""
        with disk.watched(), warnings.catch_warnings():
            warnings.simplefilter("ignore", DiskWarning)
            try:
                started(folder / "room.json")
            except StoreError as error:
                told = str(error)
        if told and "was written, but" not in told:
            assert not (folder / "room.json").exists()
            started(folder / "room.json")
        assert len(CohortFile(folder / "room.json").read().individuals) == 3
        if len(disk.calls) < at:
            break


def test_a_disk_that_takes_a_few_bytes_at_a_time_gets_them_all(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, data: real(descriptor, data[:100]))
    add(room, seen("3", 2, "L1"))
    monkeypatch.undo()
    assert states(room)[-1] == "3 L1"


def test_a_failure_after_the_change_does_not_claim_that_nothing_changed(room: CohortFile) -> None:
    last = max(
        place
        for place, call in enumerate(watched_log(room), start=1)
        if call == ("fsync", str(room.path.parent))
    )
    disk = Disk(room.path.parent, failing(last))
    with disk.watched(), pytest.raises(StoreError) as told:
        add(room, seen("2", 3, "L2"))
    assert "was written, but the disk did not confirm it" in str(told.value)
    assert "nothing changed" not in str(told.value)
    assert states(room)[-1] == "2 L2"


def watched_log(room: CohortFile) -> list[tuple[str, str]]:
    disk = Disk(room.path.parent)
    with disk.watched():
        add(room, seen("3", 2, "L1"))
    return [(call.name, call.path) for call in disk.calls]
