"""The way from an older format, tried with a format 0 that never was."""

import hashlib
import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from rearlog.records.errors import StoreError
from rearlog.store import migrations
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.restoring import restore, states_of
from tests.builders import seen
from tests.store.conftest import add, states


def names_for_individuals(tables: dict[str, Any]) -> dict[str, Any]:
    """In format 0, observations called the individual `who`."""
    return tables | {
        "observations": {
            number: {("individual" if key == "who" else key): each for key, each in record.items()}
            for number, record in tables["observations"].items()
        }
    }


@pytest.fixture
def old(room: CohortFile) -> bytes:
    """The room as format 0, in its place."""
    rest = room.path.read_bytes().partition(b",\n")[2].replace(b'"individual":', b'"who":')
    head = {"1": {"format": 0, "checksum": "sha256:" + hashlib.sha256(rest).hexdigest()}}
    header = json.dumps({"file": head}, separators=(",", ":"))[:-1].encode()
    room.path.write_bytes(header + b",\n" + rest)
    return room.path.read_bytes()


@pytest.fixture
def with_step(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(migrations.MIGRATIONS, 0, names_for_individuals)


@pytest.mark.usefixtures("with_step")
def test_an_older_file_is_read_and_stays_as_it_is(room: CohortFile, old: bytes) -> None:
    assert states(room) == ["1 L1", "2 L1"]
    assert room.path.read_bytes() == old


@pytest.mark.usefixtures("with_step")
def test_the_first_change_writes_the_new_format_and_sets_the_old_file_aside(
    room: CohortFile, old: bytes
) -> None:
    add(room, seen("3", 2, "L1"))
    assert b'"format":3' in room.path.read_bytes()
    assert states(room) == ["1 L1", "2 L1", "3 L1"]
    aside = backups_of(room.path)[-1]
    assert (aside.why, aside.path.read_bytes()) == ("before format 3", old)
    for day in range(3, 30):
        add(room, seen("3", day, "L1"))
    assert aside in backups_of(room.path)


@pytest.mark.usefixtures("with_step", "old")
def test_a_backup_in_an_older_format_can_be_brought_back(room: CohortFile) -> None:
    add(room, seen("3", 2, "L1"))
    number = backups_of(room.path)[-1].number
    assert [each.observations for each in states_of(room.path).backups][-1] == 2
    restore(room.path, number)
    assert states(room) == ["1 L1", "2 L1"]


@pytest.mark.usefixtures("old")
def test_a_format_that_no_step_leads_on_from_is_refused(room: CohortFile) -> None:
    with pytest.raises(StoreError, match="format 0, which this rearlog does not know"):
        room.read()


@pytest.mark.usefixtures("old")
def test_a_step_that_does_not_fit_the_file_is_told(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(migrations.MIGRATIONS, 0, lambda tables: tables["no such table"])
    with pytest.raises(StoreError, match="cannot be brought from format 0 to 1"):
        room.read()


def added(name: str, tables: dict[str, Any]) -> dict[str, Any]:
    return {**tables, name: {}}


def test_several_steps_follow_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations, "FORMAT", 4)
    for step in (1, 2, 3):
        monkeypatch.setitem(migrations.MIGRATIONS, step, partial(added, f"to {step + 1}"))
    assert list(migrations.migrated({}, 1, Path("x"))) == ["to 2", "to 3", "to 4"]
    assert list(migrations.migrated({}, 3, Path("x"))) == ["to 4"]
    assert list(migrations.migrated({}, 4, Path("x"))) == []
