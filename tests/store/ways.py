"""The ways of writing, and how one is tried on a disk of which one call fails."""

import shutil
import warnings
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from pathlib import Path

from rearlog.disk.notices import DiskWarning
from rearlog.exchange import check_files
from rearlog.records.errors import RearlogError
from rearlog.records.log import DayExtremes, Individual, Mark
from rearlog.species.loader import check
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.correcting import correct
from rearlog.store.restoring import restore
from rearlog.store.verification import accept, verify
from tests.builders import START, seen
from tests.store.conftest import NOW, add, started, states
from tests.store.disk import Disk, failing

Action = Callable[[CohortFile], object]

MARK = Mark(NOW, "misread")
EXTREMES = DayExtremes(START.date(), 18.0, 24.0)
DAYS = (START.date(), (START + timedelta(days=9)).date())


def edited(room: CohortFile) -> None:
    room.path.write_text("L2".join(room.path.read_text().rsplit("L1", 1)))


def with_copy(room: CohortFile) -> None:
    copy = room.path.with_name("copy.json")
    shutil.copyfile(room.path, copy)
    add(CohortFile(copy), seen("3", 2, "L1"))


def with_mistake(room: CohortFile) -> None:
    room.strike([2], [], MARK)


def with_table(room: CohortFile) -> None:
    room.path.with_name("new.csv").write_text("individual,at,stage\n3,2026-03-11,L1\n", "utf-8")


def brought(room: CohortFile) -> None:
    read = partial(check_files.read, room.path.with_name("new.csv"), now=NOW)
    room.record([read], NOW, pass_known=True)


WAYS: dict[str, tuple[Action, Action]] = {
    # name: (what is there before, the action under test)
    "log": (lambda room: None, lambda room: add(room, seen("3", 2, "L1"))),
    "strike": (lambda room: None, lambda room: room.strike([2], [], Mark(NOW, "wrong cup"))),
    "restore": (lambda room: None, lambda room: restore(room.path, 5)),
    "accept": (edited, lambda room: accept(room.path, NOW, check)),
    "merge": (with_copy, lambda room: room.merge(room.path.with_name("copy.json"), NOW)),
    "import": (with_table, brought),
    "temps": (lambda room: None, lambda room: room.add_temperatures([EXTREMES], NOW)),
    "take back": (with_mistake, lambda room: room.take_back([2], [], Mark(NOW, "it was right"))),
    "correct": (lambda room: None, lambda room: correct(room, "1", "L2", DAYS, MARK, NOW)),
    "withdraw": (lambda room: None, lambda room: room.withdraw(["3"], MARK)),
    "add": (lambda room: None, lambda room: room.add_individuals([Individual("4", START, "egg")])),
}


def prepared(folder: Path, before: Action) -> None:
    """A room with so many backups that the next write removes one."""
    folder.mkdir()
    room = started(folder / "room.json")
    for day in range(1, 8):
        add(room, seen("1", day, "L1"))
    before(room)


def trial(folder: Path, way: str, at: int, number: int) -> bool:
    """Let one call fail; check what is left. False when there was no such call any more."""
    room, action = CohortFile(folder / "room.json"), WAYS[way][1]
    old = room.path.read_bytes()
    disk, told = Disk(folder, failing(at, number)), ""
    with disk.watched(), warnings.catch_warnings():
        warnings.simplefilter("ignore", DiskWarning)  # of a folder that may not be opened
        try:
            action(room)
        except RearlogError as error:
            told = str(error)
    new = room.path.read_bytes()
    where = f"{way}, call {at} ({disk.calls[min(at, len(disk.calls)) - 1]}): {told}"
    if told and "was written, but" not in told:
        assert new == old, where
    else:
        assert new != old, where
        assert verify(room.path, NOW, check).sound, where
    copies = [each.path for each in backups_of(room.path)]
    assert not any(each.samefile(room.path) for each in copies), where
    if way == "accept" and new == old:
        accept(room.path, NOW, check)
    add(room, seen("2", 30, "L2"))  # the lock is free, and writing goes on
    assert states(room)[-1] == "2 L2", where
    assert not [each for each in (folder / ".rearlog").iterdir() if each.name.endswith(".new")]
    return len(disk.calls) >= at
