import json
import os
from pathlib import Path

import pytest

from rearlog.records.asked_round import Round, answer, begin
from rearlog.records.errors import StoreError
from rearlog.store import durable
from rearlog.store.draft import DraftFile
from tests.builders import moment, tiny_log

LOG = tiny_log({str(code): "egg L1" for code in range(1, 8)})


def some_round() -> Round:
    """Six answers of every kind, the last one open."""
    line = '1+ 2 L3 head=0.6 "pale, soft" 3n 5d(mould) 6 = len=4 sex=f'
    return answer(begin(LOG, moment(2), "KT"), line).round


@pytest.fixture
def drafts(tmp_path: Path) -> DraftFile:
    (tmp_path / "room.json").write_bytes(b"")
    file = DraftFile(tmp_path / "room.json")
    with file.held():
        return file


def test_a_round_comes_back_as_it_was(drafts: DraftFile) -> None:
    assert drafts.read() is None
    drafts.write(some_round())
    found = drafts.read()
    assert found is not None
    assert found.resumed(LOG) == some_round()
    drafts.clear()
    assert drafts.read() is None


def test_a_write_that_fails_leaves_the_answers_before_it(
    drafts: DraftFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    drafts.write(some_round())

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    for call in ("write", "fsync", "replace"):
        with monkeypatch.context() as patch:
            patch.setattr(os, call, full)
            with pytest.raises(StoreError, match="no space left"):
                drafts.write(answer(some_round(), "7+").round)
        found = drafts.read()
        assert found is not None
        assert found.resumed(LOG).next == "7"


def test_each_answer_is_flushed_with_its_folder(
    drafts: DraftFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    flushed: list[bool] = []
    flush = os.fsync

    def fsync(descriptor: int) -> None:
        flushed.append(os.path.isdir(f"/proc/self/fd/{descriptor}"))
        flush(descriptor)

    monkeypatch.setattr(os, "fsync", fsync)
    drafts.write(some_round())
    assert flushed == [False, True]


def test_only_one_at_a_time(drafts: DraftFile, tmp_path: Path) -> None:
    with drafts.held(), pytest.raises(StoreError, match="somebody is in the middle"):
        DraftFile(tmp_path / "room.json").held().__enter__()
    with drafts.held():
        pass


@pytest.mark.parametrize("content", [b"", b"{}", b"[]", b"\xff", b'{"answers": {"1": 3}}'])
def test_a_draft_that_is_none_is_told(drafts: DraftFile, content: bytes) -> None:
    drafts.path.write_bytes(content)
    with pytest.raises(StoreError, match="cannot be read"):
        drafts.read()


def test_a_round_over_a_log_that_has_it_already_is_known(drafts: DraftFile) -> None:
    drafts.write(some_round())
    found = drafts.read()
    assert found is not None
    assert not found.saved_in(LOG)
    saved = tuple(each for each in some_round().checks)
    later = tiny_log({str(code): "egg L1" for code in range(1, 8)})
    assert found.saved_in(type(LOG)(later.cohort, later.individuals, saved))


def test_an_individual_that_is_gone_after_a_restore_is_passed_over(drafts: DraftFile) -> None:
    drafts.write(some_round())
    found = drafts.read()
    assert found is not None
    assert found.resumed(tiny_log({"1": "egg", "7": "egg"})).asked == ("1", "7")


def test_the_draft_of_a_linked_cohort_stands_beside_the_file_itself(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "room.json").write_bytes(b"")
    (tmp_path / "room.json").symlink_to(tmp_path / "other" / "room.json")
    path = DraftFile(tmp_path / "room.json").path
    assert path.parent == tmp_path / "other" / durable.HIDDEN


DAMAGES: list[tuple[str, object]] = [
    ("at", "2026-03-11T09:00"), ("at", "9999-12-31T23:59:59+00:00"), ("at", 5), ("at", []),
    ("by", 5), ("by", ["KT"]), ("asked", "1234567"), ("asked", [1, 2]), ("asked", [["1"]]),
    ("asked", None), ("answers", []), ("answers", {"1": 5}), ("answers", {"1": {}}),
    ("answers", {"1": {"individual": "2", "at": "2026-03-11T09:00:00+00:00", "stage": "L1"}}),
    ("answers", {"1": {"individual": "1", "at": "2026-03-12T09:00:00+00:00", "stage": "L1"}}),
]  # fmt: skip


@pytest.mark.parametrize(("field", "value"), DAMAGES)
def test_a_damaged_draft_is_told(drafts: DraftFile, field: str, value: object) -> None:
    drafts.write(some_round())
    document = json.loads(drafts.path.read_bytes())
    drafts.path.write_text(json.dumps(document | {field: value}))
    with pytest.raises(StoreError, match="cannot be read"):
        drafts.read()


def test_an_answer_that_the_log_has_no_word_for_is_asked_again(drafts: DraftFile) -> None:
    drafts.write(some_round())
    document = json.loads(drafts.path.read_bytes())
    document["answers"]["1"]["stage"] = "L9"
    document["answers"]["5"]["fate"] = "eaten"
    drafts.path.write_text(json.dumps(document))
    found = drafts.read()
    assert found is not None
    assert found.resumed(LOG).next == "1"
    assert "5" not in found.resumed(LOG).answers
