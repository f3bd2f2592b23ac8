"""A redaction killed at any of its system calls, or failing there, is finished by the next one."""

import errno
import itertools
import shutil
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

from rearlog.disk.notices import DiskWarning
from rearlog.records.asked_round import answer, begin
from rearlog.records.entries import parse
from rearlog.records.errors import StoreError
from rearlog.records.log import Mark
from rearlog.species.loader import check
from rearlog.store.arriving import drafting
from rearlog.store.cohort_file import CohortFile
from rearlog.store.draft import Draft, DraftFile
from rearlog.store.recording import record_round
from rearlog.store.redacting import redact
from rearlog.store.redaction import Wanted
from rearlog.store.verification import verify
from tests.builders import moment, seen
from tests.store.conftest import NOW, add, started
from tests.store.disk import Call, Disk, failing

SECRET = "Anna was ill"
WANTED = Wanted(("note", "because"), SECRET)

KILLED = """
import os, signal, sys
from pathlib import Path
from tests.store.disk import Disk
from tests.store.test_redacting import (
    NOW, WANTED, added, again, check, held, prepared, redact, verified, verify,
)
import shutil, warnings
warnings.simplefilter("ignore")  # that one was stopped, and is finished now

root, at, half = Path(sys.argv[1]), 0, 0
prepared(root / "before")
while True:
    at += 1
    folder = root / str(at)
    shutil.copytree(root / "before", folder)
    path = folder / "room.json"
    child = os.fork()
    if child == 0:
        def last(count, call):
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)
        with Disk(folder, last).watched():
            redact(path, WANTED, NOW, "PQ")
        os._exit(0)
    survived = os.waitpid(child, 0)[1] == 0
    begun = (folder / ".rearlog" / "room.json.redaction").exists()
    half += begun and 0 < len(held(folder))
    deed, done = (again, added, verified)[at % 3], not held(folder)
    deed(path)
    if begun or done or deed is again:
        assert held(folder) == [], (at, held(folder))
        assert not (folder / ".rearlog" / "room.json.redaction").exists()
    else:
        assert len(held(folder)) >= 4, (at, held(folder))  # nothing was done yet
    assert verify(path, NOW, check).sound, at
    if survived:
        break
print(at, half)
"""


def held(folder: Path) -> list[str]:
    return [
        each.name
        for each in folder.rglob("*")
        if each.is_file() and SECRET.encode() in each.read_bytes()
    ]


def prepared(folder: Path) -> None:
    folder.mkdir()
    room = started(folder / "room.json")
    add(room, seen("1", 1, "L1", note=SECRET))
    add(room, seen("2", 1, "L1"))
    add(room, seen("3", 1, "L1"))
    room.strike([2], [], Mark(NOW, SECRET))
    unfinished = folder / ".rearlog" / "room.json.new"  # left by a writer that was stopped
    unfinished.write_bytes(room.path.read_bytes())


def again(path: Path) -> None:
    redact(path, WANTED, NOW, "PQ")


def added(path: Path) -> None:
    add(CohortFile(path), seen("3", 2, "L2"))


def verified(path: Path) -> None:
    assert verify(path, NOW, check).sound


def test_one_killed_at_any_call_is_finished_by_the_next(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path)],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    calls, half = map(int, done.stdout.split())
    assert calls > 40
    assert half > 20  # killed between the copies, too


def test_every_call_fails_in_turn(tmp_path: Path) -> None:
    prepared(tmp_path / "before")
    for at in itertools.count(1):
        folder = tmp_path / str(at)
        shutil.copytree(tmp_path / "before", folder)
        path = folder / "room.json"
        disk, told = Disk(folder, failing(at, errno.EIO)), ""
        with disk.watched():
            try:
                redact(path, WANTED, NOW, "PQ")
            except StoreError as error:
                told = str(error)
        if not told:
            assert held(folder) == [], at
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DiskWarning)
            redact(path, WANTED, NOW, "PQ")
        assert held(folder) == [], at
        assert verify(path, NOW, check).sound
        if len(disk.calls) < at:
            break
    assert at > 40


def stopped(path: Path) -> None:
    """Stop a redaction before the file itself is written."""

    def before(_number: int, call: Call) -> None:
        if call.name == "replace" and call.other == str(path):
            raise OSError(errno.EIO, "stopped")

    with Disk(path.parent, before).watched(), pytest.raises(StoreError):
        redact(path, WANTED, NOW, "PQ")
    assert "room.json" in held(path.parent)


def test_one_that_was_stopped_is_told_and_finished(tmp_path: Path) -> None:
    prepared(tmp_path / "room")
    path = tmp_path / "room" / "room.json"
    stopped(path)
    with pytest.warns(DiskWarning, match="was stopped, and is finished now"):
        added(path)
    assert held(path.parent) == []


def test_it_waits_for_the_end_of_a_round_and_verify_tells_it(tmp_path: Path) -> None:
    prepared(tmp_path / "room")
    path = tmp_path / "room" / "room.json"
    stopped(path)
    with DraftFile(path).held():
        with pytest.warns(DiskWarning, match="cannot be finished yet"):
            added(path)  # what is recorded does not wait
        with pytest.warns(DiskWarning, match="cannot be finished yet"):
            found = verify(path, NOW, check)
    assert not found.sound
    assert "a redaction was stopped" in found.problems[0].message
    with pytest.warns(DiskWarning, match="is finished now"):
        assert verify(path, NOW, check).sound
    assert held(path.parent) == []


def test_new_cohorts_that_were_left_half_made_go(tmp_path: Path) -> None:
    prepared(tmp_path / "room")
    folder = tmp_path / "room"
    with drafting(folder) as draft:
        shutil.copy(folder / "room.json", draft / "copy.json")
        shutil.copytree(draft, tmp_path / "kept")
    shutil.copytree(tmp_path / "kept", draft)  # as if the program had been killed there
    assert "copy.json" in held(folder)
    redact(folder / "room.json", WANTED, NOW, "PQ")
    assert held(folder) == []


def test_those_whose_names_are_gone_stay_two(tmp_path: Path) -> None:
    """A round being asked, and a look of somebody else, at one moment."""
    room = started(tmp_path / "room.json")
    at, drafts = moment(2), DraftFile(room.path)
    add(room, seen("2", 1, "L1", by="LM"))
    round_ = answer(begin(room.read(), at, "KT"), "1 L1").round
    drafts.write(round_)
    record_round(room, parse("1 L1"), at, None, NOW)
    record_round(room, parse("1 L1"), at, "LM", NOW)
    redact(room.path, Wanted(("by",)), NOW, None)
    draft = drafts.read()
    assert isinstance(draft, Draft)
    assert draft.by == "?2"
    add(room, *draft.resumed(room.read()).checks)
    looks = [each.by for each in room.read().checks["1"]]
    assert looks == [None, "?1", "?2"]
    assert verify(room.path, NOW, check).sound


def test_somebody_who_looked_and_is_asked_stays_one(tmp_path: Path) -> None:
    room = started(tmp_path / "room.json")
    add(room, seen("2", 1, "L1", by="LM"), seen("3", 1, "L1", by="KT"))
    drafts = DraftFile(room.path)
    drafts.write(answer(begin(room.read(), moment(2), "KT"), "1 L1").round)
    redact(room.path, Wanted(("by",), "KT"), NOW, None)
    assert [each.by for each in room.read().all_observations] == ["LM", "?1"]
    assert drafts.read().by == "?1"
    assert [each.by for each in drafts.read().answers.values()] == ["?1"]
    redact(room.path, Wanted(("by",), "LM"), NOW, None)
    assert [each.by for each in room.read().all_observations] == ["?2", "?1"]
    assert drafts.read().by == "?1"
