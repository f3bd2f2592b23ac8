"""What a killed writer has left is swept by the next one; what somebody is at work on never is."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from rearlog.disk import leftovers
from rearlog.disk.folders import write_folder
from rearlog.disk.leftovers import sweep
from rearlog.disk.outputs import write_output

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="locks are others there")

# writes as far as the first flush, tells so, and waits there
AT_WORK = """
import os, sys
from pathlib import Path
from rearlog.disk.folders import write_folder
from rearlog.disk.outputs import write_output

def wait(descriptor):
    print("at work", flush=True)
    sys.stdin.read()

os.fsync = wait
target = Path(sys.argv[2])
if sys.argv[1] == "file":
    write_output(target, b"new")
else:
    write_folder(target, {"a/b.csv": [b"new"]})
"""


@contextmanager
def at_work(kind: str, target: Path) -> Iterator[subprocess.Popen[str]]:
    with subprocess.Popen(
        [sys.executable, "-c", AT_WORK, kind, str(target)],
        cwd=Path(__file__).parents[2], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        assert writer.stdout.readline() == "at work\n"
        try:
            yield writer
        finally:
            writer.kill()


def left(folder: Path) -> list[Path]:
    return list(folder.glob(".rearlog-*"))


def aged(path: Path, seconds: float) -> None:
    os.utime(path, (time.time() - seconds,) * 2)


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_a_live_writer_keeps_what_it_is_at_work_on(tmp_path: Path, kind: str) -> None:
    target = tmp_path / "slow"
    with at_work(kind, target) as writer:
        (found,) = left(tmp_path)
        aged(found, 30 * 86_400)  # a laptop that was asleep in between
        write_output(tmp_path / "other.csv", b"x")
        write_folder(tmp_path / "others", {"a.csv": [b"x"]})
        assert left(tmp_path) == [found]
        assert writer.stdin is not None
        writer.stdin.close()
        assert writer.wait(60) == 0
    assert (target if kind == "file" else target / "a" / "b.csv").read_bytes() == b"new"
    assert left(tmp_path) == []


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_a_killed_writer_left_is_swept_when_it_is_old(tmp_path: Path, kind: str) -> None:
    with at_work(kind, tmp_path / "slow") as writer:
        writer.kill()
        writer.wait(60)
    (found,) = left(tmp_path)
    aged(found, leftovers.OLD_SECONDS - 60)
    write_output(tmp_path / "one.csv", b"x")
    assert left(tmp_path) == [found]  # a writer may be between two steps
    aged(found, leftovers.OLD_SECONDS + 60)
    if kind == "file":
        write_folder(tmp_path / "two", {"a.csv": [b"x"]})
    else:
        write_output(tmp_path / "two.csv", b"x")
    assert left(tmp_path) == []


def test_nothing_else_is_swept(tmp_path: Path) -> None:
    names = [".rearlog-backups", ".rearlog-notes.new", ".rearlog-0123abcd", "rearlog-0123abcd.new"]
    for name in names:
        (tmp_path / name).mkdir()
        aged(tmp_path / name, 30 * 86_400)
    (tmp_path / "mine").write_bytes(b"x")
    (tmp_path / ".rearlog-0123abcd.new").symlink_to(tmp_path / "mine")
    sweep(tmp_path)
    assert {each.name for each in tmp_path.iterdir()} == {*names, "mine", ".rearlog-0123abcd.new"}


def test_where_a_disk_knows_no_locks_a_day_must_have_passed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_descriptor: int, _how: int) -> None:
        raise OSError(38, "no locks here")

    monkeypatch.setattr("fcntl.flock", refuse)
    found = tmp_path / ".rearlog-0123abcd.new"
    found.write_bytes(b"x")
    aged(found, leftovers.OLD_UNLOCKED_SECONDS - 60)
    sweep(tmp_path)
    assert found.exists()
    aged(found, leftovers.OLD_UNLOCKED_SECONDS + 60)
    sweep(tmp_path)
    assert not found.exists()
