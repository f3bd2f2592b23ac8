import os
import stat
from pathlib import Path

import pytest

from rearlog.records.errors import StoreError
from rearlog.store import durable
from rearlog.store.cohort_file import CohortFile
from tests.builders import seen
from tests.store.conftest import add, started, states


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o644])
def test_the_mode_of_the_file_stays(room: CohortFile, mode: int) -> None:
    room.path.chmod(mode)
    add(room, seen("3", 2, "L1"))
    assert mode_of(room.path) == mode


def test_a_new_file_gets_the_usual_mode(path: Path) -> None:
    other = path.with_name("other")
    other.touch()
    started(path)
    assert mode_of(path) == mode_of(other)


def test_owner_and_group_stay_where_the_user_may_give_them(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: list[tuple[int, int]] = []
    real = os.fstat

    def of_somebody_else(descriptor: int) -> os.stat_result:
        found = list(real(descriptor))
        found[4], found[5] = found[4] + 1, found[5] + 1
        return os.stat_result(found)

    monkeypatch.setattr(os, "fstat", of_somebody_else)
    monkeypatch.setattr(os, "fchown", lambda _, uid, gid: given.append((uid, gid)))
    add(room, seen("3", 2, "L1"))
    mine = room.path.stat()
    assert given == [(-1, mine.st_gid), (mine.st_uid, -1)]


def test_a_user_who_may_not_give_a_file_away_can_still_write(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: int) -> None:
        raise PermissionError(1, "not permitted")

    monkeypatch.setattr(os, "fstat", lambda _: os.stat_result([0] * 10))
    monkeypatch.setattr(os, "fchown", refused)
    if room.path.stat().st_uid == 0 == room.path.stat().st_gid:
        monkeypatch.setattr(os, "fstat", lambda _: os.stat_result([1] * 10))
    add(room, seen("3", 2, "L1"))
    assert states(room)[-1] == "3 L1"


@pytest.mark.parametrize("mode", [0o444, 0o400])
def test_a_read_only_file_is_refused_and_stays(room: CohortFile, mode: int) -> None:
    before = room.path.read_bytes()
    room.path.chmod(mode)
    with pytest.raises(StoreError, match="read-only; nothing changed"):
        add(room, seen("3", 2, "L1"))
    assert room.path.read_bytes() == before
    assert states(room) == ["1 L1", "2 L1"]  # reading goes on


def test_a_link_is_written_through_to_its_target(room: CohortFile, tmp_path: Path) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    link = folder / "linked.json"
    link.symlink_to("../room.json")
    add(CohortFile(link), seen("3", 2, "L1"))
    assert link.is_symlink()
    assert states(room) == states(CohortFile(link)) == ["1 L1", "2 L1", "3 L1"]
    assert [each.name for each in folder.iterdir()] == ["linked.json"]  # lock, backups: over there


def test_a_link_to_nothing_and_a_circle_of_links_are_told(tmp_path: Path) -> None:
    dangling, circle = tmp_path / "dangling.json", tmp_path / "circle.json"
    dangling.symlink_to("gone.json")
    circle.symlink_to("circle.json")
    with pytest.raises(StoreError, match=r"links to gone\.json, which is not there"):
        CohortFile(dangling).read()
    with pytest.raises(StoreError, match="exists already"):
        started(dangling)
    for action in (CohortFile(circle).read, lambda: add(CohortFile(circle))):
        with pytest.raises(StoreError, match="cannot be"):
            action()
    assert not (tmp_path / "gone.json").exists()


def test_a_hidden_folder_that_leads_elsewhere_is_refused(path: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / ".rearlog").symlink_to(elsewhere)
    with pytest.raises(StoreError, match="not a folder of its own"):
        started(path)
    assert list(elsewhere.iterdir()) == []
    assert not path.exists()


def test_a_file_in_the_place_of_the_hidden_folder_is_refused(path: Path) -> None:
    (path.parent / ".rearlog").write_text("mine")
    with pytest.raises(StoreError, match="not a folder of its own"):
        started(path)
    assert (path.parent / ".rearlog").read_text() == "mine"


def test_the_hidden_folder_is_shared_as_the_folder_is(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o2775)
    started(shared / "room.json")
    assert mode_of(shared / ".rearlog") == 0o2775
    assert mode_of(shared / ".rearlog" / "room.json.lock") == 0o664


def test_an_unfinished_write_is_thrown_away(room: CohortFile) -> None:
    stale = room.path.parent / ".rearlog" / "room.json.new"
    stale.write_bytes(b'{"half a wri')
    assert states(room) == ["1 L1", "2 L1"]
    add(room, seen("3", 2, "L1"))
    assert not stale.exists()
    assert states(room)[-1] == "3 L1"


def test_a_link_in_the_place_of_the_temporary_file_is_not_followed(
    room: CohortFile, tmp_path: Path
) -> None:
    precious = tmp_path / "precious"
    precious.write_text("keep me")
    (tmp_path / ".rearlog" / "room.json.new").symlink_to(precious)
    add(room, seen("3", 2, "L1"))
    assert precious.read_text() == "keep me"
    assert not room.path.is_symlink()


def test_what_is_no_file_is_not_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.json")  # reading it would wait for ever
    (tmp_path / "folder.json").mkdir()
    for name in ("pipe.json", "folder.json"):
        with pytest.raises(StoreError, match="is not a file"):
            CohortFile(tmp_path / name).read()
    with pytest.raises(StoreError, match="is not a file"):
        CohortFile("/dev/zero").read()


def test_a_file_too_large_for_memory_is_not_read(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(durable.LARGEST_BYTES + 1)  # a hole: takes no room on the disk
    with pytest.raises(StoreError, match=r"too large for a cohort file \(256 MB\)"):
        CohortFile(path).read()


@pytest.mark.parametrize("name", ["a\0b.json", "x" * 5000 + ".json", "\udcff.json"])
def test_names_that_no_file_has_are_told(tmp_path: Path, name: str) -> None:
    file = CohortFile(tmp_path / name)
    with pytest.raises(StoreError):
        file.read()
    with pytest.raises(StoreError):
        add(file, seen("1", 1, "L1"))
