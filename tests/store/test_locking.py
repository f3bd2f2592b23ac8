import fcntl
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from rearlog.disk.notices import DiskWarning
from rearlog.records.errors import StoreError
from rearlog.store import locking
from rearlog.store.cohort_file import CohortFile
from rearlog.store.locking import lock
from tests.builders import seen
from tests.store.conftest import add, states

HOLD = """
import sys, time
from pathlib import Path
from rearlog.store.locking import lock
with lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def holder(room: CohortFile) -> Iterator[subprocess.Popen[str]]:
    """Another process that holds the lock of the room until it is killed."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(room.path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.communicate()


def test_who_waits_too_long_is_told_who_holds_the_lock(
    room: CohortFile, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = room.path.read_bytes()
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    who = (
        rf"is being written by process {holder.pid} on \S+ since \d{{4}}-\d\d-\d\d \d\d:\d\d:\d\d$"
    )
    with pytest.raises(StoreError) as told:
        add(room, seen("3", 2, "L1"))
    assert re.search(who, told.value.problems[0].message)
    assert told.value.problems[0].remedy == "try again when that has finished"
    assert room.path.read_bytes() == before
    assert states(room) == ["1 L1", "2 L1"]  # readers do not wait


def test_the_lock_is_free_when_its_holder_was_killed(
    room: CohortFile, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 5)
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"


def test_a_cohort_and_a_link_to_it_share_one_lock(
    room: CohortFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = tmp_path / "link.json"
    link.symlink_to(room.path)
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    with lock(room.path), pytest.raises(StoreError, match=f"process {os.getpid()}"):
        add(CohortFile(link), seen("3", 2, "L1"))


def test_two_cohorts_do_not_wait_for_each_other(
    room: CohortFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    with lock(tmp_path / "other.json"):
        add(room, seen("3", 2, "L1"))


def test_a_lock_file_without_a_name_in_it_still_locks(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    with lock(room.path):
        (room.path.parent / ".rearlog" / "room.json.lock").write_bytes(b"")
        with pytest.raises(StoreError, match="by another program"):
            add(room, seen("3", 2, "L1"))


def test_who_waits_says_so_and_gets_in_when_the_lock_is_free(
    room: CohortFile, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []

    def free_it(text: str) -> None:
        told.append(text)
        holder.kill()
        holder.wait()

    monkeypatch.setattr(locking, "SILENT_SECONDS", 0.05)
    monkeypatch.setattr(locking, "tell", free_it)
    add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"
    (text,) = told
    assert text.startswith(f"waiting for {room.path}, which is being written by process ")
    assert f" {holder.pid} on " in text


def test_patience_is_enough_for_a_class_on_a_loaded_machine() -> None:
    """Under 30 writers at once, some have been seen to wait for more than 10 seconds."""
    assert locking.PATIENCE_SECONDS >= 60
    assert locking.SILENT_SECONDS <= 3


def stuck(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """A disk that fails so many times to give back a lock."""
    real, left = fcntl.flock, [None] * times

    def flock(descriptor: int, operation: int) -> None:
        if operation == fcntl.LOCK_UN and left:
            left.pop()
            raise OSError(5, "Input/output error")
        real(descriptor, operation)

    monkeypatch.setattr(fcntl, "flock", flock)


def test_a_lock_that_is_not_given_back_at_once_is_then(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    stuck(monkeypatch, times=1)
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    add(room, seen("3", 2, "L1"))
    add(room, seen("3", 3, "L2"))
    assert states(room)[-1] == "3 L2"


def test_a_lock_that_cannot_be_given_back_is_told_after_the_write(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    stuck(monkeypatch, times=2)
    with pytest.warns(DiskWarning, match=r"could not be given back \(input/output error\)"):
        add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"


@pytest.mark.parametrize("error", [OSError(37, "No locks available"), NotImplementedError("none")])
def test_a_disk_without_locks_is_told(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def refused(*_: int) -> None:
        raise error

    before = room.path.read_bytes()
    monkeypatch.setattr(fcntl, "flock", refused)
    with pytest.raises(StoreError, match="cannot be locked: no"):
        add(room, seen("3", 2, "L1"))
    assert room.path.read_bytes() == before
