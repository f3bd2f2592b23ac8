"""Which files of a folder are cohorts: all that the commands open, and no others."""

import json
import os
import socket
from pathlib import Path

import pytest

from rearlog.store import folder as listing
from rearlog.store.cohort_file import CohortFile
from rearlog.store.folder import cohorts_in
from tests.store.conftest import started


def names(folder: Path) -> list[str]:
    return [path.stem for path in cohorts_in(folder)]


def moved(path: Path, name: str, content: bytes | None = None) -> Path:
    """A copy of a file in a folder where nothing was ever written."""
    target = path.parent / "elsewhere" / f"{name}.json"
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(path.read_bytes() if content is None else content)
    return target


def test_it_finds_what_the_commands_read_and_nothing_else(tmp_path: Path) -> None:
    started(tmp_path / "room.json")
    room = tmp_path / "room.json"
    tables = json.loads(room.read_bytes())
    copies = [
        moved(room, "as-written"),
        moved(room, "with-mark", b"\xef\xbb\xbf" + room.read_bytes()),
        moved(room, "indented", json.dumps(tables, indent=4).encode()),
        moved(room, "header-last", json.dumps(tables | {"file": tables.pop("file")}).encode()),
        moved(room, "with-line-before", b"\n" + room.read_bytes()),
    ]
    for copy in copies:
        assert CohortFile(copy).read().cohort.name == "room"
    moved(room, "package", b'{"name": "page", "file": "x", "cohort": 1}')
    moved(room, "list", b"[1, 2]")
    moved(room, "empty", b"")
    assert names(copies[0].parent) == sorted(path.stem for path in copies)


def test_what_was_a_cohort_and_is_damaged_is_among_them(tmp_path: Path) -> None:
    started(tmp_path / "room.json")
    (tmp_path / "room.json").write_bytes(b"")
    assert names(tmp_path) == ["room"]


@pytest.mark.parametrize("chunk", [15, 16, 64])
def test_a_name_between_two_parts_of_a_file_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, chunk: int
) -> None:
    started(tmp_path / "room.json")
    tables = json.loads((tmp_path / "room.json").read_bytes())
    moved(tmp_path / "room.json", "spread", json.dumps(tables, indent=2).encode())
    monkeypatch.setattr(listing, "_CHUNK_BYTES", chunk)
    assert names(tmp_path / "elsewhere") == ["spread"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_nothing_that_is_no_file_stops_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    started(tmp_path / "room.json")
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe.json")
    os.mkdir("folder.json")
    os.symlink("/dev/zero", "device.json")
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("socket.json")
        assert names(Path(".")) == ["room"]


def test_what_nobody_can_look_at_is_among_them(tmp_path: Path) -> None:
    os.symlink("nowhere.json", tmp_path / "broken.json")
    os.symlink("loop.json", tmp_path / "loop.json")
    assert names(tmp_path) == ["broken", "loop"]
