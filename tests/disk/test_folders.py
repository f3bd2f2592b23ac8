"""A folder of files that takes the place of another: the old or the new one, never half."""

import errno
import itertools
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from rearlog.disk import folders
from rearlog.disk.folders import write_folder
from tests.store.disk import Disk, failing

OLD = {"table.csv": [b"o", b"ld"], "profiles/moth.json": [b"{}"]}
NEW = {"table.csv": [b"n", b"", b"ew"], "profiles/moth.json": [b"{}"], "readme": [b"new"]}
WHOLE = {
    "old": {"table.csv": b"old", "profiles/moth.json": b"{}"},
    "new": {"table.csv": b"new", "profiles/moth.json": b"{}", "readme": b"new"},
}


def found_in(folder: Path) -> str:
    """Whether the old or the new files are there, or else which."""
    files = (each for each in folder.rglob("*") if each.is_file())
    there = {each.relative_to(folder).as_posix(): each.read_bytes() for each in files}
    return next((name for name, whole in WHOLE.items() if there == whole), str(there))


@pytest.fixture(params=[True, False], ids=["in one step", "in two"])
def swaps(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Whether the system can let two folders change places."""
    if not request.param:
        monkeypatch.setattr(folders, "_swapped", lambda _one, _other: False)
    return bool(request.param)


def test_a_folder_takes_the_place_of_another(tmp_path: Path, swaps: bool) -> None:
    target = tmp_path / "data"
    write_folder(target, OLD)
    target.chmod(0o750)
    with pytest.raises(OSError, match="not empty"):
        write_folder(target, NEW)
    assert found_in(target) == "old"
    write_folder(target, NEW, force=True)
    assert found_in(target) == "new"
    assert target.stat().st_mode & 0o777 == 0o750
    assert os.listdir(tmp_path) == ["data"]


def test_linux_can_let_two_folders_change_places(tmp_path: Path) -> None:
    """renameat2(2), since Linux 3.15 and glibc 2.28."""
    if sys.platform != "linux":
        pytest.skip("another system")
    write_folder(tmp_path / "one", OLD)
    write_folder(tmp_path / "other", NEW)
    assert folders._swapped(tmp_path / "one", tmp_path / "other")
    assert (found_in(tmp_path / "one"), found_in(tmp_path / "other")) == ("new", "old")
    assert not folders._swapped(tmp_path / "one", tmp_path / "nowhere")


@pytest.mark.filterwarnings("ignore::rearlog.disk.notices.DiskWarning")
@pytest.mark.parametrize(
    "number", [errno.ENOSPC, pytest.param(errno.EACCES, marks=pytest.mark.slow)]
)
def test_whatever_call_fails_the_old_or_the_new_folder_is_there(
    tmp_path: Path, swaps: bool, number: int
) -> None:
    failed = 0
    for at in itertools.count(1):
        target = tmp_path / str(at) / "data"
        target.parent.mkdir()
        write_folder(target, OLD)
        disk, error = Disk(target.parent, failing(at, number)), None
        with disk.watched():
            try:
                write_folder(target, NEW, force=True)
            except OSError as found:
                error = found
        if at > len(disk.calls):
            break
        failed += error is not None
        found_there = found_in(target)
        if error is None:
            assert found_there == "new"
        elif found_there != "old":  # only its name was not confirmed
            assert (found_there, disk.calls[at - 1].path) == ("new", str(target.parent))
    assert failed > 10


# A child kills itself at each of its system calls in turn.
KILLED_AT_EACH_CALL = """
import json, os, signal, sys
from pathlib import Path
from rearlog.disk import folders
from tests.disk.test_folders import NEW, OLD, found_in
from tests.store.disk import Disk

folder, swaps = Path(sys.argv[1]), sys.argv[2] == "True"
if not swaps:
    folders._swapped = lambda one, other: False
target, found, at = folder / "data", [], 0
survived = False
while not survived:
    at += 1
    folders.write_folder(target, OLD, force=True)
    child = os.fork()
    if child == 0:
        def last(count, call):
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)
        with Disk(folder, last).watched():
            folders.write_folder(target, NEW, force=True)
        os._exit(0)
    survived = os.waitpid(child, 0)[1] == 0
    if not target.exists():
        found.append("aside")
        folders._bring_back(folder / ".data.rearlog-old", target)
    found.append(found_in(target))
print(json.dumps(found))
"""


@pytest.mark.parametrize("swaps", [True, False])
def test_whenever_it_is_killed_the_old_or_the_new_folder_is_there(
    tmp_path: Path, swaps: bool
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED_AT_EACH_CALL, str(tmp_path), str(swaps)],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert len(found) > 20
    assert found[0] == "old"
    assert found[-1] == "new"
    if swaps:
        assert set(found) == {"old", "new"}
    else:
        assert set(found) == {"old", "aside", "new"}
        assert found[found.index("aside") + 1] == "old"
