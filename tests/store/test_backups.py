import errno
import os
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rearlog.records.errors import StoreError
from rearlog.store import backups
from rearlog.store.backups import DAYS, NEWEST, backups_of, set_aside, settle
from rearlog.store.cohort_file import CohortFile
from tests.builders import seen
from tests.store.conftest import add, backup_names, started, states

NOON = datetime(2026, 3, 9, 12, tzinfo=UTC).astimezone()


def write_at(path: Path, moment: datetime) -> None:
    """Back up the file as before a change, then write it as if at that moment."""
    set_aside(path)
    rewrite(path, moment)


def rewrite(path: Path, moment: datetime) -> None:
    path.unlink(missing_ok=True)
    path.write_text(moment.isoformat())
    os.utime(path, (moment.timestamp(), moment.timestamp()))
    settle(path)


def kept(path: Path) -> list[datetime]:
    return [each.written for each in backups_of(path)]


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    (tmp_path / ".rearlog").mkdir()
    return tmp_path / "room.json"


def test_every_change_keeps_the_file_as_it_was(room: CohortFile) -> None:
    before = room.path.read_bytes()
    add(room, seen("3", 2, "L1"))
    assert backups_of(room.path)[-1].path.read_bytes() == before


def test_a_backup_is_the_old_file_itself_not_a_copy(room: CohortFile) -> None:
    old = room.path.stat().st_ino
    add(room, seen("3", 2, "L1"))
    assert backups_of(room.path)[-1].path.stat().st_ino == old
    assert room.path.stat().st_nlink == 1


def test_of_many_changes_in_a_day_the_newest_are_kept(empty: Path) -> None:
    moments = [NOON + timedelta(minutes=count) for count in range(40)]
    for moment in moments:
        write_at(empty, moment)
    last_of_the_older = moments[-2 - NEWEST]  # the last of its day among those that made way
    assert kept(empty) == [last_of_the_older, *moments[-1 - NEWEST : -1]]


def test_of_earlier_days_the_last_is_kept_for_a_while(empty: Path) -> None:
    rounds = [NOON + timedelta(days=day, hours=hour) for day in range(30) for hour in (0, 1, 2)]
    for moment in rounds:
        write_at(empty, moment)
    found = kept(empty)
    assert found[-NEWEST:] == rounds[-1 - NEWEST : -1]
    days = [moment.date() for moment in found[:-NEWEST]]
    assert len(days) == len(set(days)) == DAYS
    assert all(moment.hour == rounds[2].hour for moment in found[:-NEWEST][:-1])


def test_backups_stay_few_however_many_changes_there_are(empty: Path) -> None:
    for count in range(300):
        write_at(empty, NOON + timedelta(hours=7 * count))
        assert len(kept(empty)) <= NEWEST + DAYS


def test_numbers_rise_and_are_not_used_again(empty: Path) -> None:
    for count in range(20):
        write_at(empty, NOON + timedelta(minutes=count))
    numbers = [each.number for each in backups_of(empty)]
    assert numbers == sorted(numbers)
    assert numbers[-1] == 19


def test_what_was_set_aside_stays(empty: Path) -> None:
    write_at(empty, NOON)
    set_aside(empty, "before restoring")
    rewrite(empty, NOON + timedelta(minutes=1))
    for count in range(1, 60):
        write_at(empty, NOON + timedelta(days=count))
    first = backups_of(empty)[0]
    assert (first.why, first.written) == ("before restoring", NOON)


def test_the_same_state_is_not_backed_up_twice(empty: Path) -> None:
    write_at(empty, NOON)
    set_aside(empty)
    set_aside(empty)  # as after a writer that was stopped between backing up and writing
    assert backups_of(empty) == []
    rewrite(empty, NOON + timedelta(minutes=1))
    assert backup_names(empty) == ["room.json.1"]


def test_what_is_set_aside_again_and_again_makes_way_for_its_like(empty: Path) -> None:
    write_at(empty, NOON)
    set_aside(empty, "before format 2")
    rewrite(empty, NOON + timedelta(minutes=1))
    for count in range(1, 200):
        set_aside(empty, "before restoring")
        rewrite(empty, NOON + timedelta(hours=7 * count))
    found = backups_of(empty)
    whys = [each.why for each in found]
    assert whys.count("before format 2") == 1
    assert whys.count("before restoring") == NEWEST + DAYS
    assert found[-1].written == NOON + timedelta(hours=7 * 198)


def test_a_writer_that_was_stopped_after_the_change_leaves_its_backup(empty: Path) -> None:
    write_at(empty, NOON)
    set_aside(empty, "before restoring")
    empty.unlink()
    empty.write_text("new")  # and stopped before the backup had its number
    (found,) = backups_of(empty)
    assert (found.number, found.why) == (1, "before restoring")
    assert found.path.read_text() == NOON.isoformat()
    settle(empty)
    (settled,) = backups_of(empty)
    assert (settled.number, settled.path.name) == (1, "room.json.1.before-restoring")


def test_a_file_that_was_not_replaced_shares_nothing_with_its_backups(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else an editor that writes into the file would write into its backup."""
    names = backup_names(room.path)

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(StoreError, match="nothing changed"):
        add(room, seen("3", 2, "L1"))
    monkeypatch.undo()
    assert room.path.stat().st_nlink == 1
    assert backup_names(room.path) == names


@pytest.mark.parametrize("linked", [True, False])
def test_a_copy_of_the_file_as_it_is_counts_as_no_backup(
    empty: Path, monkeypatch: pytest.MonkeyPatch, linked: bool
) -> None:
    if not linked:
        refuse_links(monkeypatch)
    write_at(empty, NOON)
    set_aside(empty)  # and stopped
    assert backups_of(empty) == []
    settle(empty)
    assert backup_names(empty) == []


def test_cohorts_in_one_folder_keep_their_backups_apart(tmp_path: Path) -> None:
    for name in ("room.json", "room.json.1", "room", "roomXjson", "room.json.json"):
        file = started(tmp_path / name)
        add(file, seen("1", 1, "L1"))
    for name in ("room.json", "room.json.1", "room", "roomXjson", "room.json.json"):
        assert len(backups_of(tmp_path / name)) == 1


def refuse_links(monkeypatch: pytest.MonkeyPatch, number: int = errno.EPERM) -> None:
    def refused(*_: Any, **__: Any) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "link", refused)


@pytest.mark.parametrize("number", [errno.EPERM, errno.EMLINK, errno.EXDEV, errno.ENOTSUP])
def test_where_links_are_not_possible_a_copy_is_made(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    refuse_links(monkeypatch, number)
    before, written = room.path.read_bytes(), room.path.stat().st_mtime_ns
    add(room, seen("3", 2, "L1"))
    copy = backups_of(room.path)[-1].path
    assert copy.read_bytes() == before
    assert copy.stat().st_mtime_ns == written


def test_without_a_backup_nothing_is_written(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any, **__: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    before, names = room.path.read_bytes(), backup_names(room.path)
    refuse_links(monkeypatch)
    monkeypatch.setattr(backups, "write_new", full)
    with pytest.raises(StoreError, match="cannot be backed up: no space left on device; nothing"):
        add(room, seen("3", 2, "L1"))
    assert room.path.read_bytes() == before
    assert backup_names(room.path) == names
    assert states(room) == ["1 L1", "2 L1"]


def test_a_backup_that_cannot_be_removed_does_not_stop_a_record(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(self: Path, missing_ok: bool = False) -> None:
        if not missing_ok:
            raise PermissionError(errno.EPERM, "not permitted")

    real: Callable[..., Any] = Path.unlink
    monkeypatch.setattr(Path, "unlink", refused)
    for day in range(2, 12):
        add(room, seen("3", day, "L1"))
    monkeypatch.setattr(Path, "unlink", real)
    assert states(room).count("3 L1") == 10
