import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

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
    with pytest.raises(StoreError, match=f"is being written by process {holder.pid} on ") as told:
        add(room, seen("3", 2, "L1"))
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
