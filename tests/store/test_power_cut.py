"""What may be on the disk when the power fails, worked out from the calls that were made.

The model is pessimistic: until a file is flushed, any beginning of it may be there; until a folder
is flushed, each change of its names may have reached the disk or not, in any order.
"""

import itertools
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from rearlog.records.errors import StoreError
from rearlog.records.log import Mark
from rearlog.species.loader import check
from rearlog.store.cohort_file import CohortFile
from rearlog.store.restoring import restore
from rearlog.store.verification import verify
from tests.builders import seen
from tests.store.conftest import NOW, add, states
from tests.store.disk import Call, Disk


@dataclass
class Content:
    """One file's content: what was written, and how much of it is surely on the disk."""

    written: bytes
    flushed: bool

    def possible(self) -> list[bytes]:
        if self.flushed:
            return [self.written]
        return [self.written[: len(self.written) * part // 4] for part in range(5)]


@dataclass
class Platters:
    """The names that are surely on the disk, and the changes that may be or not."""

    sure: dict[str, Content]
    unsure: list[tuple[str, str, Content | None]] = field(default_factory=list)

    def now(self) -> dict[str, Content]:
        names = dict(self.sure)
        for _, path, content in self.unsure:
            if content is None:
                names.pop(path, None)
            else:
                names[path] = content
        return names

    def happen(self, call: Call) -> None:
        names = self.now()
        content = names.get(call.path)
        match call.name:
            case "open" if content is None and not Path(call.path).is_dir():
                self._change(call.path, Content(b"", flushed=False))
            case "write" if content is not None:
                content.written += call.data
                content.flushed = False
            case "fsync" if content is not None:
                content.flushed = True
            case "fsync":  # of a folder
                for folder, path, changed in self.unsure:
                    if folder == call.path and changed is None:
                        self.sure.pop(path, None)
                    elif folder == call.path and changed is not None:
                        self.sure[path] = changed
                self.unsure = [each for each in self.unsure if each[0] != call.path]
            case "unlink":
                self._change(call.path, None)
            case "link" | "replace" | "rename":
                self._change(call.other, content)

    def _change(self, path: str, content: Content | None) -> None:
        self.unsure.append((str(Path(path).parent), path, content))

    def after_the_cut(self, path: str) -> Iterator[bytes | None]:
        """Every content that the file may have when the machine starts again."""
        for happened in itertools.product([False, True], repeat=len(self.unsure)):
            left = self.sure.get(path)
            for (_, changed, content), did in zip(self.unsure, happened, strict=True):
                if did and changed == path:
                    left = content
            yield from [None] if left is None else left.possible()


ACTIONS = {
    "log": lambda room: add(room, seen("3", 2, "L1")),
    "strike": lambda room: room.strike([2], [], Mark(NOW, "wrong cup")),
    "restore": lambda room: restore(room.path, 1),
}


def contents_of(folder: Path) -> dict[str, Content]:
    files = (each for each in folder.rglob("*") if each.is_file())
    return {str(each): Content(each.read_bytes(), flushed=True) for each in files}


@pytest.mark.parametrize("action", ACTIONS)
def test_after_a_power_cut_the_old_or_the_new_file_is_there(room: CohortFile, action: str) -> None:
    platters = Platters(contents_of(room.path.parent))
    old = room.path.read_bytes()
    disk = Disk(room.path.parent)
    with disk.watched():
        ACTIONS[action](room)
    new = room.path.read_bytes()
    found = set()
    for call in disk.calls:
        platters.happen(call)
        found |= set(platters.after_the_cut(str(room.path)))
    assert found == {old, new}
    # the call has returned, so the record was acknowledged: now only the new file may be there
    assert set(platters.after_the_cut(str(room.path))) == {new}


def test_what_was_set_aside_is_there_before_the_file_changes(room: CohortFile) -> None:
    platters = Platters(contents_of(room.path.parent))
    old, number = room.path.read_bytes(), 1
    disk = Disk(room.path.parent)
    with disk.watched():
        restore(room.path, number)
    for call in disk.calls:
        platters.happen(call)
        if call.name == "replace":
            break
    aside = room.path.parent / ".rearlog" / "room.json.old.before-restoring"
    assert set(platters.after_the_cut(str(aside))) == {old}
    (renamed,) = [call.other for call in disk.calls if call.path == str(aside) and call.other]
    assert renamed == str(aside.with_name("room.json.2.before-restoring"))


def test_the_model_sees_a_write_that_is_not_flushed(room: CohortFile) -> None:
    platters = Platters(contents_of(room.path.parent))
    disk = Disk(room.path.parent)
    with disk.watched():
        add(room, seen("3", 2, "L1"))
    for call in disk.calls:
        if not (call.name == "fsync" and call.path.endswith(".new")):
            platters.happen(call)
    assert b"" in set(platters.after_the_cut(str(room.path)))


def test_the_model_sees_a_folder_that_is_not_flushed(room: CohortFile) -> None:
    platters = Platters(contents_of(room.path.parent))
    old = room.path.read_bytes()
    disk = Disk(room.path.parent)
    with disk.watched():
        add(room, seen("3", 2, "L1"))
    for call in disk.calls:
        if not (call.name == "fsync" and call.path == str(room.path.parent)):
            platters.happen(call)
    assert old in set(platters.after_the_cut(str(room.path)))


def test_written_but_not_renamed_leaves_the_old_file(room: CohortFile, tmp_path: Path) -> None:
    (tmp_path / ".rearlog" / "room.json.new").write_bytes(room.path.read_bytes()[:500])
    assert states(room) == ["1 L1", "2 L1"]
    add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"


def test_a_file_cut_short_by_the_disk_is_told_and_comes_back(room: CohortFile) -> None:
    """Not even a disk that lies about flushing costs more than the last entry."""
    add(room, seen("3", 2, "L1"))
    whole = room.path.read_bytes()
    for length in (0, 1, 300, len(whole) // 2, len(whole) - 2):
        room.path.unlink()  # a new file: the backups are not cut with it
        room.path.write_bytes(whole[:length])
        with pytest.raises(StoreError, match=re.escape(f"rearlog restore {room.path}")):
            add(room, seen("3", 3, "L2"))
        assert room.path.read_bytes() == whole[:length]
    restore(room.path, 2)
    assert verify(room.path, NOW, check).sound
    assert states(room) == ["1 L1", "2 L1"]


def test_a_folder_that_was_copied_without_its_hidden_one_works(
    room: CohortFile, tmp_path: Path
) -> None:
    shutil.rmtree(tmp_path / ".rearlog")
    add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"
