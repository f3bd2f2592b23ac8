"""Pictures beside a cohort file: kept, named by looks, verified, merged, and redacted."""

import itertools
import os
import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.disk.notices import DiskWarning
from rearlog.records.errors import RecordError, StoreError
from rearlog.records.log import Mark
from rearlog.records.nameless import nameless
from rearlog.species.loader import check
from rearlog.store import photos
from rearlog.store.cohort_file import CohortFile
from rearlog.store.photos import folder_of, keep, name_of, photo
from rearlog.store.redacting import redact
from rearlog.store.redaction import Wanted
from rearlog.store.restoring import restore
from rearlog.store.verification import Verification, accept, verify
from tests.builders import seen
from tests.pictures import encoded, leaf
from tests.store.conftest import NOW, add
from tests.store.disk import Disk, failing

ONE, OTHER = encoded(leaf()), encoded(leaf(shade=90))


def look(path: Path) -> Verification:
    return verify(path, NOW, check)


def told(path: Path) -> str:
    return "\n".join(map(str, look(path).problems))


def pictures(path: Path) -> list[str]:
    folder = folder_of(path)
    return sorted(os.listdir(folder)) if folder.exists() else []


def taken(room: CohortFile, content: bytes = ONE, individual: str = "1") -> str:
    """Keep a picture and a look that names it."""
    name = keep(room.path, content)
    add(room, replace(seen(individual, 2, "L2"), photo=name))
    return name


def test_a_look_names_its_picture_and_is_read_again(room: CohortFile) -> None:
    name = taken(room)
    assert name == name_of(ONE)
    assert room.read().all_observations[-1].photo == name
    assert room.outline(["1"]).checks["1"][-1].photo == name
    assert photo(room.path, name) == ONE
    assert pictures(room.path) == [f"{name}.jpg"]
    found = look(room.path)
    assert (found.sound, found.photos, found.photos_unnamed) == (True, 1, 0)


@pytest.mark.parametrize(
    "name", ["", "x", "../../room", "A" * 64, "a" * 63, "a" * 65, "a" * 64 + "\n"]
)
def test_a_look_names_no_other_file(room: CohortFile, name: str) -> None:
    with pytest.raises(RecordError, match="photo is not 64 digits"):
        add(room, replace(seen("1", 2, "L2"), photo=name))
    assert photo(room.path, name) is None


def test_the_same_picture_is_kept_once_and_never_twice_written(room: CohortFile) -> None:
    name = keep(room.path, ONE)
    before = (folder_of(room.path) / f"{name}.jpg").stat()
    assert keep(room.path, ONE) == name
    assert (folder_of(room.path) / f"{name}.jpg").stat() == before


def test_a_picture_that_nobody_names_is_no_fault(room: CohortFile) -> None:
    keep(room.path, ONE)
    found = look(room.path)
    assert (found.sound, found.photos, found.photos_unnamed) == (True, 0, 1)


def test_a_missing_picture_is_told_with_its_look(room: CohortFile) -> None:
    name = taken(room)
    (folder_of(room.path) / f"{name}.jpg").unlink()
    assert "1, @3: its picture is missing" in told(room.path)
    assert not look(room.path).sound


def test_a_damaged_picture_is_told_not_shown_and_mended_by_keeping_it_again(
    room: CohortFile,
) -> None:
    name = taken(room)
    (folder_of(room.path) / f"{name}.jpg").write_bytes(ONE[:-1])
    assert "its picture was damaged" in told(room.path)
    assert photo(room.path, name) is None
    keep(room.path, ONE)
    assert look(room.path).sound


def test_a_link_in_its_place_is_no_picture(room: CohortFile) -> None:
    name = taken(room)
    file = folder_of(room.path) / f"{name}.jpg"
    elsewhere = room.path.with_name("elsewhere.jpg")
    shutil.move(file, elsewhere)
    file.symlink_to(elsewhere)
    assert photo(room.path, name) is None
    assert not look(room.path).sound


def test_nothing_is_written_through_a_folder_that_is_a_link(room: CohortFile) -> None:
    elsewhere = room.path.with_name("elsewhere")
    elsewhere.mkdir()
    folder_of(room.path).symlink_to(elsewhere)
    with pytest.raises(StoreError, match="not a folder of its own"):
        keep(room.path, ONE)
    assert os.listdir(elsewhere) == []


def test_there_is_an_end_to_how_many_are_kept(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos, "MOST_PHOTOS", 1)
    keep(room.path, ONE)
    with pytest.raises(StoreError, match="holds 1 pictures already"):
        keep(room.path, OTHER)


def test_a_failing_disk_leaves_no_half_picture(room: CohortFile, tmp_path: Path) -> None:
    name = name_of(ONE)
    refused = 0
    for at in itertools.count(1):
        shutil.rmtree(folder_of(room.path), ignore_errors=True)
        disk = Disk(tmp_path, failing(at))
        try:
            with disk.watched():
                keep(room.path, ONE)
        except StoreError:
            refused += 1
            assert photo(room.path, name) in (None, ONE)
        else:
            assert photo(room.path, name) == ONE
        assert not [each for each in pictures(room.path) if not each.endswith(".jpg")], at
        if len(disk.calls) < at:
            break
    assert refused >= 5


def test_a_change_by_hand_is_accepted_although_a_picture_is_missing(room: CohortFile) -> None:
    name = taken(room)
    (folder_of(room.path) / f"{name}.jpg").unlink()
    room.path.write_text(room.path.read_text().replace('"zone":"UTC"', '"zone":"Europe/Rome"'))
    found = accept(room.path, NOW, check)
    assert [each.message for each in found.problems] == ["its picture is missing"]


def test_merging_brings_the_pictures_of_the_looks_that_it_brings(
    room: CohortFile, tmp_path: Path
) -> None:
    usb = tmp_path / "usb"
    usb.mkdir()
    copy = CohortFile(usb / "room.json")
    shutil.copyfile(room.path, copy.path)
    mine = taken(room, ONE, "1")
    theirs = taken(copy, OTHER, "2")
    keep(copy.path, encoded(leaf(30, 30)))  # that no look names
    room.merge(copy.path, NOW)
    assert pictures(room.path) == sorted(f"{each}.jpg" for each in (mine, theirs))
    assert photo(room.path, theirs) == OTHER
    assert look(room.path).sound


def test_merging_takes_no_picture_that_is_not_what_the_look_names(
    room: CohortFile, tmp_path: Path
) -> None:
    usb = tmp_path / "usb"
    usb.mkdir()
    copy = CohortFile(usb / "room.json")
    shutil.copyfile(room.path, copy.path)
    name = taken(copy, OTHER, "2")
    (folder_of(copy.path) / f"{name}.jpg").write_bytes(ONE)
    with pytest.warns(DiskWarning, match="1 picture that looks name"):
        room.merge(copy.path, NOW)
    assert pictures(room.path) == []
    assert "its picture is missing" in told(room.path)


def test_going_back_and_forth_finds_the_pictures_again(room: CohortFile) -> None:
    name = taken(room)
    restore(room.path, 1)
    assert look(room.path).photos_unnamed == 1
    restore(room.path, max(each for each in range(1, 9) if _holds(room, each, name)))
    assert (look(room.path).sound, look(room.path).photos) == (True, 1)


def _holds(room: CohortFile, number: int, name: str) -> bool:
    found = list((room.path.parent / ".rearlog").glob(f"room.json.{number}*"))
    return any(name in each.read_text() for each in found)


def test_a_picture_is_redacted_for_good(room: CohortFile) -> None:
    name = taken(room)
    room.strike([1], [], Mark(NOW, "wrong cup"))
    found = redact(room.path, Wanted(("photo",), None, frozenset([3])), NOW, "KT")
    assert (found.fields, found.pictures) == (1, 1)
    assert pictures(room.path) == []
    held = [room.path, *(room.path.parent / ".rearlog").iterdir()]
    assert not [each for each in held if name in each.read_text()]
    assert room.read().all_observations[-1].photo is None
    assert look(room.path).sound


def test_a_picture_that_another_look_names_stays(room: CohortFile) -> None:
    name = taken(room, ONE, "1")
    taken(room, ONE, "2")
    found = redact(room.path, Wanted(("photo",), None, frozenset([3])), NOW, None)
    assert found.pictures == 0
    assert pictures(room.path) == [f"{name}.jpg"]
    assert look(room.path).sound


def test_a_trial_takes_no_picture_away(room: CohortFile) -> None:
    taken(room)
    redact(room.path, Wanted(("photo",)), NOW, None, dry_run=True)
    assert len(pictures(room.path)) == 1


def test_data_without_names_name_no_picture(room: CohortFile) -> None:
    taken(room)
    assert not any(each.photo for each in nameless(room.read()).all_observations)
