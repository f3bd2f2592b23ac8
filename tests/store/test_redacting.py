"""A redaction killed at any of its system calls, or failing there, is finished by the next one."""

import errno
import itertools
import shutil
import subprocess
import sys
from pathlib import Path

from rearlog.records.errors import StoreError
from rearlog.records.log import Mark
from rearlog.species.loader import check
from rearlog.store.redacting import redact
from rearlog.store.redaction import Wanted
from rearlog.store.verification import verify
from tests.builders import seen
from tests.store.conftest import NOW, add, started
from tests.store.disk import Disk, failing

SECRET = "Anna was ill"
WANTED = Wanted(("note", "because"), SECRET)

KILLED = """
import os, signal, sys
from pathlib import Path
from tests.store.disk import Disk
from tests.store.test_redacting import NOW, WANTED, held, prepared, redact, verify, check
import shutil

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
    half += 0 < len(held(folder)) < 5
    redact(path, WANTED, NOW, "PQ")
    assert held(folder) == [], (at, held(folder))
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


def test_one_killed_at_any_call_is_finished_by_the_next(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path)],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    calls, half = map(int, done.stdout.split())
    assert calls > 40
    assert half > 10  # killed between the copies, too


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
        redact(path, WANTED, NOW, "PQ")
        assert held(folder) == [], at
        assert verify(path, NOW, check).sound
        if len(disk.calls) < at:
            break
    assert at > 40
