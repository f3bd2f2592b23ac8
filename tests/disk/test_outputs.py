"""What a command writes: the old file or the new one, whatever goes wrong, and one line of why."""

import errno
import itertools
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from rearlog.disk.notices import DiskWarning
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.records.errors import RearlogError, UsageError
from tests.store.disk import Call, Disk, failing

OLD, NEW = b"old" * 1000, b"new" * 2000


def interrupted(at: int) -> Callable[[int, Call], None]:
    """Ctrl-C just before the call with this number."""

    def before(count: int, _call: Call) -> None:
        if count == at:
            raise KeyboardInterrupt

    return before


FAULTS: dict[str, Callable[[int], Callable[[int, Call], None]]] = {
    "full": lambda at: failing(at, errno.ENOSPC),
    "broken": lambda at: failing(at, errno.EIO),
    "not allowed": lambda at: failing(at, errno.EACCES),
    "Ctrl-C": interrupted,
}


@pytest.mark.filterwarnings("ignore::rearlog.disk.notices.DiskWarning")
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("there", [True, False])
def test_whatever_call_fails_the_old_or_the_new_file_is_there(
    tmp_path: Path, there: bool, fault: str
) -> None:
    failed = 0
    for at in itertools.count(1):
        folder = tmp_path / str(at)
        folder.mkdir()
        path = folder / "page.html"
        if there:
            path.write_bytes(OLD)
        disk, told = Disk(folder, FAULTS[fault](at)), ""
        with disk.watched():
            try:
                write_output(path, NEW, force=there)
            except RearlogError as error:
                (problem,) = error.problems
                told = str(problem)
            except KeyboardInterrupt:
                told = "Aborted"
        if at > len(disk.calls):
            break
        failed += bool(told)
        names = os.listdir(folder)
        found = path.read_bytes() if path.exists() else None
        assert found in (OLD if there else None, NEW)
        if "nothing changed" in told:
            assert found == (OLD if there else None)
        if not told:
            assert found == NEW
        # only where the temporary file itself could not be removed may it be left
        assert len(names) <= 1 + (disk.calls[at - 1].name == "unlink")
    assert failed > 4


def test_a_file_that_is_there_stays_without_force(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    write_output(path, OLD)
    for action in (lambda: write_output(path, NEW), lambda: refuse_taken(path, force=False)):
        with pytest.raises(UsageError, match="exists already"):
            action()
    assert path.read_bytes() == OLD
    write_output(path, NEW, force=True)
    assert path.read_bytes() == NEW


def test_a_file_that_appears_in_the_last_moment_stays(tmp_path: Path) -> None:
    path = tmp_path / "page.html"

    def appears(_count: int, call: Call) -> None:
        if call.name == "link":
            path.write_bytes(OLD)

    with Disk(tmp_path, appears).watched(), pytest.raises(UsageError, match="exists already"):
        write_output(path, NEW)
    assert path.read_bytes() == OLD
    assert os.listdir(tmp_path) == ["page.html"]


@pytest.mark.parametrize("force", [True, False])
def test_what_cannot_be_a_file_is_told_in_one_line(tmp_path: Path, force: bool) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    cases = {
        "folder": "is a folder",
        "pipe": "is not a file",
        "circle": "cannot be written",
        "nowhere/page.html": "there is no folder",
        "x" * 300: "name too long",
        "a\0b": "cannot be written",
        "con.html": "the name of a device",
    }
    before = sorted(os.listdir(tmp_path))
    for name, message in cases.items():
        with pytest.raises(RearlogError, match=message) as told:
            write_output(tmp_path / name, NEW, force=force)
        assert len(told.value.problems) == 1
    assert sorted(os.listdir(tmp_path)) == before


def test_a_device_is_not_replaced() -> None:
    with pytest.raises(UsageError, match="is not a file"):
        write_output(Path("/dev/null"), NEW, force=True)
    assert Path("/dev/null").is_char_device()


def test_a_long_name_that_can_be_is_written(tmp_path: Path) -> None:
    name = "x" * 250 + ".html"  # 255 bytes: the longest that common disks know
    write_output(tmp_path / name, NEW)
    assert os.listdir(tmp_path) == [name]


def test_mode_and_link_stay(tmp_path: Path) -> None:
    real, link = tmp_path / "real.html", tmp_path / "link.html"
    real.write_bytes(OLD)
    real.chmod(0o640)
    link.symlink_to(real)
    write_output(link, NEW, force=True)
    assert link.is_symlink()
    assert real.read_bytes() == NEW
    assert real.stat().st_mode & 0o777 == 0o640


def test_a_read_only_file_stays(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_bytes(OLD)
    path.chmod(0o444)
    with pytest.raises(RearlogError, match="read-only"):
        write_output(path, NEW, force=True)
    assert path.read_bytes() == OLD


def test_a_folder_that_cannot_be_synced_does_not_make_it_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.fsync

    def fsync(descriptor: int) -> None:
        if os.path.isdir(f"/proc/self/fd/{descriptor}"):
            raise OSError(errno.EINVAL, "Invalid argument")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.warns(DiskWarning):
        write_output(tmp_path / "page.html", NEW)
    assert (tmp_path / "page.html").read_bytes() == NEW
