import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from rearlog.exchange.bundle import opened, write, zipped
from rearlog.records.errors import ImportRefused, RearlogError, UsageError

FILES = {"table.csv": b"a,b\r\n", "profiles/moth.json": b"{}\n"}


def content(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize("name", ["data", "data.zip"])
def test_what_is_written_is_opened_again(tmp_path: Path, name: str) -> None:
    write(tmp_path / name, FILES)
    with opened(tmp_path / name) as folder:
        assert content(folder) == FILES
    assert os.listdir(tmp_path) == [name]


@pytest.mark.parametrize("name", ["data", "data.zip"])
def test_nothing_is_written_over_without_force(tmp_path: Path, name: str) -> None:
    write(tmp_path / name, FILES)
    with pytest.raises(UsageError, match="exists already"):
        write(tmp_path / name, {**FILES, "table.csv": b"new"})
    with opened(tmp_path / name) as folder:
        assert content(folder) == FILES
    write(tmp_path / name, {**FILES, "table.csv": b"new"}, force=True)
    with opened(tmp_path / name) as folder:
        assert content(folder)["table.csv"] == b"new"


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    write(tmp_path / "data", FILES)
    assert content(tmp_path / "data") == FILES


@pytest.mark.parametrize("stranger", ["notes.txt", "profiles/mine.txt", ".hidden"])
def test_a_folder_with_other_files_is_refused_even_with_force(
    tmp_path: Path, stranger: str
) -> None:
    write(tmp_path / "data", FILES)
    (tmp_path / "data" / stranger).write_text("mine")
    with pytest.raises(UsageError, match=f"has other files in it: {stranger}"):
        write(tmp_path / "data", FILES, force=True)
    assert (tmp_path / "data" / stranger).read_text() == "mine"


def test_a_file_does_not_become_a_folder_nor_a_folder_an_archive(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("mine")
    (tmp_path / "data.zip").mkdir()
    (tmp_path / "data.zip" / "mine").write_text("mine")
    with pytest.raises(UsageError, match="is a file"):
        write(tmp_path / "data", FILES, force=True)
    with pytest.raises(UsageError, match="is a folder"):
        write(tmp_path / "data.zip", FILES, force=True)


def test_a_missing_folder_and_the_current_one_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(UsageError, match="there is no folder"):
        write(tmp_path / "nowhere" / "data", FILES)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="the current folder"):
        write(Path("."), FILES)


@pytest.mark.parametrize("name", ["data", "data.zip"])
def test_a_write_that_fails_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    write(tmp_path / name, FILES)

    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(RearlogError, match="no space left on device; nothing changed"):
        write(tmp_path / name, {**FILES, "table.csv": b"new"}, force=True)
    with opened(tmp_path / name) as folder:
        assert content(folder) == FILES
    assert os.listdir(tmp_path) == [name]


@pytest.mark.parametrize("name", ["nul", "Aux.zip", "x" * 300, "x" * 300 + ".zip", "a\0b"])
def test_a_name_that_cannot_be_is_told(tmp_path: Path, name: str) -> None:
    with pytest.raises(RearlogError):
        write(tmp_path / name, FILES)
    assert os.listdir(tmp_path) == []


def test_an_archive_has_no_times_in_it(tmp_path: Path) -> None:
    write(tmp_path / "data.zip", FILES)
    with zipfile.ZipFile(tmp_path / "data.zip") as archive:
        assert {each.date_time for each in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert (tmp_path / "data.zip").read_bytes() == zipped(FILES)


def test_an_archive_cannot_write_outside_its_folder(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "evil.zip", "w") as archive:
        archive.writestr("../../outside.txt", "x")
    with opened(tmp_path / "evil.zip") as folder:
        assert list(content(folder)) == ["outside.txt"]


@pytest.mark.parametrize(
    ("damage", "message"),
    [
        (lambda whole: b"no archive", "neither a folder nor a ZIP"),
        (lambda whole: whole[: len(whole) // 2], "neither a folder nor a ZIP"),
        (lambda whole: whole.replace(b"a,b", b"a;b"), "neither a folder nor a ZIP"),
    ],
    ids=["text", "cut off", "changed"],
)
def test_what_is_no_archive_is_told(
    tmp_path: Path, damage: Callable[[bytes], bytes], message: str
) -> None:
    path = tmp_path / "data.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("table.csv", b"a,b\r\n")
    path.write_bytes(damage(path.read_bytes()))
    with pytest.raises(ImportRefused, match=message), opened(path):
        pass


def test_what_is_not_there_and_what_is_too_large_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(ImportRefused, match="No such file"), opened(tmp_path / "nowhere"):
        pass
    write(tmp_path / "data.zip", {"table.csv": b"x" * 100})
    monkeypatch.setattr("rearlog.exchange.bundle.LARGEST_BYTES", 99)
    with pytest.raises(ImportRefused, match="too much"), opened(tmp_path / "data.zip"):
        pass
