import re
from pathlib import Path

import pytest

from rearlog.records.errors import StoreError, UsageError
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from rearlog.store.restoring import restore, states_of
from tests.builders import seen
from tests.store.conftest import add, states


@pytest.fixture
def grown(room: CohortFile) -> CohortFile:
    """The room after two more rounds; backups 1 to 3 hold 0, 2 and 3 checks."""
    add(room, seen("3", 2, "L1"))
    add(room, seen("1", 3, "L2"))
    return room


def test_the_backups_are_listed_with_what_they_hold(grown: CohortFile) -> None:
    found = states_of(grown.path)
    assert [(each.number, each.observations) for each in found.backups] == [(1, 0), (2, 2), (3, 3)]
    assert all(each.individuals == 3 and each.problem is None for each in found.backups)


def test_going_back_keeps_the_newer_file(grown: CohortFile) -> None:
    newer = grown.path.read_bytes()
    state = restore(grown.path, 2)
    assert state.observations == 2
    assert states(grown) == ["1 L1", "2 L1"]
    aside = backups_of(grown.path)[-1]
    assert (aside.why, aside.path.read_bytes()) == ("before restoring", newer)
    restore(grown.path, aside.number)  # and forward again
    assert states(grown) == ["1 L1", "2 L1", "3 L1", "1 L2"]


def test_the_brought_back_file_is_written_to_as_any_other(grown: CohortFile) -> None:
    restore(grown.path, 2)
    backup = backups_of(grown.path)[1].path.read_bytes()
    add(grown, seen("2", 5, "L2"))
    assert states(grown) == ["1 L1", "2 L1", "2 L2"]
    assert backups_of(grown.path)[1].path.read_bytes() == backup


@pytest.mark.parametrize("damage", [b"", b"{", b"\x00" * 1000])
def test_a_damaged_file_is_replaced_and_kept(grown: CohortFile, damage: bytes) -> None:
    grown.path.write_bytes(damage)
    with pytest.raises(StoreError, match=re.escape(f"rearlog restore {grown.path}")):
        grown.read()
    restore(grown.path, 3)
    assert states(grown) == ["1 L1", "2 L1", "3 L1"]
    assert backups_of(grown.path)[-1].path.read_bytes() == damage


def test_a_deleted_file_comes_back(grown: CohortFile) -> None:
    grown.path.unlink()
    restore(grown.path, 3)
    assert states(grown) == ["1 L1", "2 L1", "3 L1"]


def test_a_damaged_backup_is_listed_as_such_and_not_brought_back(grown: CohortFile) -> None:
    before = grown.path.read_bytes()
    spoilt = backups_of(grown.path)[0].path
    spoilt.write_bytes(spoilt.read_bytes().replace(b'"egg"', b'"pup"'))
    state = states_of(grown.path).backups[0]
    assert state.observations is None
    assert state.problem is not None
    assert "checksum does not fit" in state.problem
    with pytest.raises(StoreError, match="checksum does not fit"):
        restore(grown.path, 1)
    assert grown.path.read_bytes() == before


def test_a_backup_of_no_cohort_is_listed_as_such_and_not_brought_back(grown: CohortFile) -> None:
    """Its checksum fits: something else wrote it so."""
    before = grown.path.read_bytes()
    spoilt = backups_of(grown.path)[0].path
    tables = decode(spoilt.read_bytes(), spoilt).tables
    spoilt.write_bytes(encode(tables | {"cohort": {}}))
    state = states_of(grown.path).backups[0]
    assert (state.individuals, state.observations) == (None, None)
    assert state.problem == "there are 0 readable cohorts in it"
    with pytest.raises(StoreError, match="0 readable cohorts"):
        restore(grown.path, 1)
    assert grown.path.read_bytes() == before


def test_backups_are_those_of_the_label_or_of_the_file_where_none_can_be_read(
    grown: CohortFile,
) -> None:
    grown.rename("class-4b")
    assert states_of(grown.path).cohort == "class-4b"
    grown.path.write_bytes(b"{")
    assert states_of(grown.path).cohort == grown.path.stem


def test_a_number_that_there_is_not_is_told(grown: CohortFile) -> None:
    with pytest.raises(UsageError, match="there is no backup 17"):
        restore(grown.path, 17)


def test_a_read_only_file_is_not_replaced(grown: CohortFile) -> None:
    grown.path.chmod(0o444)
    with pytest.raises(StoreError, match="read-only"):
        restore(grown.path, 1)


def test_without_any_backup_the_list_is_empty_unless_there_is_no_file_either(path: Path) -> None:
    with pytest.raises(StoreError, match="there is no cohort file"):
        states_of(path)
    path.touch()
    assert states_of(path).backups == ()
