import json
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tinydb import TinyDB
from tinydb.storages import JSONStorage

from rearlog.records.errors import StoreError
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from rearlog.store.storage import CohortStorage
from tests.builders import seen
from tests.store.conftest import add, backup_names, states

NUMBERS = st.integers(1, 10**6).map(str)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text()
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
TABLES = st.dictionaries(
    st.text(min_size=1).filter(lambda name: name != "file"),
    st.dictionaries(NUMBERS, st.dictionaries(st.text(), VALUES, max_size=4), max_size=4),
    min_size=1,
    max_size=4,
)


@given(TABLES)
def test_tables_come_back_as_they_went(tables: dict[str, Any]) -> None:
    found = decode(encode(tables), Path("x.json"))
    assert {name: table for name, table in found.tables.items() if name != "file"} == tables


@given(TABLES, st.sampled_from([None, 2]))
def test_the_same_content_laid_out_by_another_tool_is_still_trusted(
    tables: dict[str, Any], indent: int | None
) -> None:
    again = json.dumps(json.loads(encode(tables)), indent=indent).encode()
    found = decode(again, Path("x.json")).tables
    assert {name: table for name, table in found.items() if name != "file"} == tables


def test_stock_tinydb_reads_the_file(room: CohortFile) -> None:
    with TinyDB(room.path) as database:
        assert database.table("cohort").all()[0]["zone"] == "UTC"
        assert [each["individual"] for each in database.table("observations")] == ["1", "2"]


def test_tinydb_works_over_the_storage_within_a_transaction(room: CohortFile) -> None:
    storage = CohortStorage(room.path)
    with storage.transaction():
        database = TinyDB(storage=lambda: storage)
        database.table("notes").insert({"text": "kept by another program"})
    with TinyDB(room.path, storage=JSONStorage) as stock:
        assert stock.table("notes").all() == [{"text": "kept by another program"}]
    assert states(room) == ["1 L1", "2 L1"]


def test_tinydb_cannot_write_outside_a_transaction(room: CohortFile) -> None:
    before = room.path.read_bytes()
    database = TinyDB(storage=lambda: CohortStorage(room.path))
    with pytest.raises(RuntimeError, match="transaction"):
        database.table("notes").insert({"text": "lost"})
    assert room.path.read_bytes() == before


def test_tables_that_other_programs_keep_in_the_file_stay(room: CohortFile) -> None:
    storage = CohortStorage(room.path)
    with storage.transaction():
        storage.write(storage.read() | {"other": {"1": {"any": [1, None, {"thing": True}]}}})
    add(room, seen("3", 2, "L1"))
    with TinyDB(room.path) as database:
        assert database.table("other").all() == [{"any": [1, None, {"thing": True}]}]


def test_an_error_inside_a_transaction_writes_nothing(room: CohortFile) -> None:
    before = room.path.read_bytes()

    def stopped_halfway() -> None:
        with room.held():
            add(room, seen("3", 2, "L1"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        stopped_halfway()
    assert room.path.read_bytes() == before
    assert states(room) == ["1 L1", "2 L1"]


def test_what_is_written_inside_is_seen_inside_and_saved_once(room: CohortFile) -> None:
    backups = len(backup_names(room.path))
    with room.held():
        add(room, seen("1", 2, "L2"))
        assert states(room)[-1] == "1 L2"
        add(room, seen("1", 3, "L3"))
        assert states(CohortFile(room.path)) == ["1 L1", "2 L1"]  # as others see it
    assert states(CohortFile(room.path)) == ["1 L1", "2 L1", "1 L2", "1 L3"]
    assert len(backup_names(room.path)) == backups + 1


def test_an_outline_is_read_anew_after_the_file_was_held(room: CohortFile) -> None:
    with room.held():
        room.outline()
    add(CohortFile(room.path), seen("3", 2, "L1"))
    assert len(room.outline().all_observations) == 3


def test_a_transaction_without_changes_leaves_the_file_alone(room: CohortFile) -> None:
    before = os.stat(room.path)
    with room.held():
        room.read()
    after = os.stat(room.path)
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


def test_a_cohort_that_exists_is_not_started_again(room: CohortFile) -> None:
    before = room.path.read_bytes()
    with pytest.raises(StoreError, match="exists already"):
        room.create(room.read().cohort, [])
    assert room.path.read_bytes() == before


HEADER = '{"file":{"1":{"format":%s,"checksum":"sha256:' + "0" * 64 + '"}},\n'


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "ends too early"),
        (b"not JSON", "is not JSON at line 1, column"),
        (b"[1, 2]", "holds no tables"),
        (b'{"observations": 5}', "holds no tables"),
        (b'{"cohort": {"1": {}}}', "no format number"),
        (b'{"file": {"1": {"format": true}}}', "no format number"),
        (b'{"file": {"1": {"format": "1"}}}', "no format number"),
        (b'{"file": {"1": {"format": 1}}}', "checksum does not fit"),
        (b'{"file": {"1": {"format": 1, "checksum": ""}}}', "checksum does not fit"),
        (b'{"file": {"1": {"format": 1, "checksum": "a"}}}', "checksum does not fit"),
        (b'{"file": {"1": {"format": 1, "checksum": null}}}', "checksum does not fit"),
        (b'{"file": {"1": {"format": -3}}}', "format -3, which"),
        (b'{"file": {"1": {"format": 999999999999}}}', "install a newer one"),
        ((HEADER % 4 + '"cohort":{}}\n').encode(), "format 4; this rearlog reads up to 3"),
        ((HEADER % 1 + '"cohort":{}}\n').encode(), "checksum does not fit"),
        (b'{"cohort": NaN}', "is not JSON"),
        (b'{"cohort": 1e999}', "is not JSON: it holds a number that is too large"),
        (b"\xff\xfe{}", "is not JSON"),
        (b"[" * 100_000, "is not JSON"),
        (b'{"a":' * 100_000, "is not JSON"),
    ],
)
def test_a_file_that_is_no_cohort_is_refused_with_the_reason(
    path: Path, content: bytes, message: str
) -> None:
    path.write_bytes(content)
    with pytest.raises(StoreError, match=message):
        CohortFile(path).read()
    with pytest.raises(StoreError, match=message):
        add(CohortFile(path), seen("1", 1, "L1"))
    assert path.read_bytes() == content


@pytest.mark.parametrize("levels", [400, 900])
def test_deep_nesting_that_can_be_read_is_refused(path: Path, levels: int) -> None:
    nested = '{"a":' * levels + "1" + "}" * levels
    path.write_text('{"file": {"1": {"format": 1}}, "cohort": {"1": ' + nested + "}}")
    with pytest.raises(StoreError, match=r"JSON|checksum"):
        CohortFile(path).read()


def test_a_byte_order_mark_that_an_editor_left_is_passed_over(room: CohortFile) -> None:
    room.path.write_bytes(b"\xef\xbb\xbf" + room.path.read_bytes())
    assert states(room) == ["1 L1", "2 L1"]


def test_more_records_than_fit_into_memory_are_refused(
    room: CohortFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rearlog.store.layout.LARGEST_COUNT", 10)
    with pytest.raises(StoreError, match="memory"):
        room.read()


def test_a_cohort_that_is_not_there_is_told(path: Path) -> None:
    with pytest.raises(StoreError, match="there is no cohort file"):
        CohortFile(path).read()
    with pytest.raises(StoreError, match="there is no folder"):
        CohortFile(path.parent / "missing" / "room.json").add_individuals([])
