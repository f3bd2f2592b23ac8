"""Disks that cannot do all that a good one can, and systems that refuse for a moment."""

import errno
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rearlog.disk import writing
from rearlog.disk.notices import DiskWarning
from rearlog.disk.writing import put, replace, sync_folder, write_new


def raising(number: int, *, times: int = 1_000) -> Callable[..., Any]:
    """A call of the system that fails so many times, and does nothing after that."""
    left = [number] * times

    def call(*_: Any, **__: Any) -> None:
        if left:
            raise OSError(left.pop(), os.strerror(number))

    return call


def written(folder: Path, content: bytes = b"new") -> bytes:
    put(content, folder / "file", folder / "file.new", like=folder / "file")
    assert sorted(os.listdir(folder)) == ["file"]
    return (folder / "file").read_bytes()


def fsync_of_folders(number: int) -> Callable[[int], None]:
    real = os.fsync

    def call(descriptor: int) -> None:
        if os.path.isdir(f"/proc/self/fd/{descriptor}"):
            raise OSError(number, os.strerror(number))
        real(descriptor)

    return call


@pytest.mark.parametrize("number", [errno.EINVAL, errno.ENOTSUP, errno.ENOSYS, errno.EPERM])
def test_a_folder_that_cannot_be_synced_is_told_and_the_file_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    monkeypatch.setattr(os, "fsync", fsync_of_folders(number))
    with pytest.warns(DiskWarning, match="does not confirm what it has written") as told:
        assert written(tmp_path) == b"new"
    assert len(told) == 1


def test_a_disk_that_fails_to_sync_a_folder_is_an_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", fsync_of_folders(errno.EIO))
    with pytest.raises(writing.Unconfirmed):
        written(tmp_path)
    assert (tmp_path / "file").read_bytes() == b"new"


def test_a_disk_that_cannot_sync_files_is_told_and_one_that_fails_is_an_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", raising(errno.ENOSPC))
    with pytest.raises(OSError, match="No space"):
        written(tmp_path)
    assert os.listdir(tmp_path) == ["file"]
    assert (tmp_path / "file").read_bytes() == b"old"
    monkeypatch.setattr(os, "fsync", raising(errno.EINVAL))
    with pytest.warns(DiskWarning, match="does not confirm"):
        assert written(tmp_path) == b"new"


@pytest.mark.parametrize("number", [errno.EPERM, errno.ENOTSUP, errno.EINVAL])
def test_a_disk_without_modes_is_told_and_the_file_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    (tmp_path / "file").touch(0o600)
    monkeypatch.setattr(os, "chmod", raising(number))
    with pytest.warns(DiskWarning, match="who may read and write cannot be set"):
        assert written(tmp_path) == b"new"


@pytest.mark.parametrize(
    ("number", "system"), [(errno.EACCES, True), (errno.EPERM, True), (errno.EBUSY, False)]
)
def test_an_open_file_is_replaced_when_it_is_let_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, system: bool
) -> None:
    """As Windows refuses while a virus scanner or a synchroniser looks at the file."""
    pauses: list[float] = []
    monkeypatch.setattr(writing, "OPEN_FILES_STAY", system)
    monkeypatch.setattr(time, "sleep", pauses.append)
    real, refuse = os.replace, raising(number, times=4)
    monkeypatch.setattr(os, "replace", lambda *names: (refuse(), real(*names)))
    assert written(tmp_path) == b"new"
    assert pauses == sorted(pauses)
    assert len(pauses) == 4


def test_a_file_that_is_never_let_go_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"old")
    pauses: list[float] = []
    monkeypatch.setattr(writing, "OPEN_FILES_STAY", True)
    monkeypatch.setattr(time, "sleep", pauses.append)
    monkeypatch.setattr(os, "replace", raising(errno.EACCES))
    with pytest.raises(PermissionError):
        written(tmp_path)
    assert 1 < sum(pauses) < 10
    assert os.listdir(tmp_path) == ["file"]
    assert (tmp_path / "file").read_bytes() == b"old"


def test_a_refusal_for_good_is_not_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writing, "OPEN_FILES_STAY", False)
    monkeypatch.setattr(time, "sleep", raising(errno.EIO))
    monkeypatch.setattr(os, "replace", raising(errno.EACCES))
    with pytest.raises(PermissionError):
        replace(tmp_path / "one", tmp_path / "other")


class MacDisk:
    """The part of `fcntl` that macOS has; its number there is 51 (sys/fcntl.h)."""

    F_FULLFSYNC = 51

    def __init__(self, fails: bool) -> None:
        self.flushed: list[int] = []
        self._fails = fails

    def fcntl(self, descriptor: int, command: int) -> None:
        self.flushed.append(command)
        if self._fails:
            raise OSError(errno.ENOTSUP, "not supported")


@pytest.mark.parametrize("fails", [False, True])
def test_the_drive_itself_is_flushed_where_the_system_has_a_call_for_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails: bool
) -> None:
    disk, real = MacDisk(fails), os.fsync
    synced: list[int] = []
    monkeypatch.setattr(writing, "fcntl", disk)

    def fsync(descriptor: int) -> None:
        synced.append(1)
        real(descriptor)

    monkeypatch.setattr(os, "fsync", fsync)
    write_new(tmp_path / "file", [b"new"], like=tmp_path / "file")
    assert disk.flushed == [51]
    assert len(synced) == fails  # the usual way where that one is not possible


def test_a_new_file_takes_the_place_of_none(tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.write_text("keep me")
    with pytest.raises(FileExistsError):
        write_new(precious, [b"new"], like=precious)
    with pytest.raises(FileExistsError):
        put(b"new", precious, tmp_path / "beside", like=precious, new=True)
    assert precious.read_text() == "keep me"
    assert os.listdir(tmp_path) == ["precious"]


@pytest.mark.parametrize("number", [errno.EPERM, errno.ENOTSUP, errno.EMLINK])
def test_a_disk_without_second_names_takes_new_files_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    monkeypatch.setattr(os, "link", raising(number))
    file = tmp_path / "file"
    put(b"new", file, tmp_path / "beside", like=file, new=True)
    with pytest.raises(FileExistsError):
        put(b"newer", file, tmp_path / "beside", like=file, new=True)
    assert file.read_bytes() == b"new"
    assert os.listdir(tmp_path) == ["file"]


def test_a_folder_that_may_not_be_opened_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "open", raising(errno.EACCES))
    with pytest.warns(DiskWarning, match="permission denied"):
        sync_folder(tmp_path)
