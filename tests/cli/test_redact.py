import re
from pathlib import Path

import pytest

from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run


def held(folder: Path, words: str) -> list[str]:
    """The files in the folder, hidden ones and all, in which the words stand."""
    return sorted(
        each.name
        for each in folder.rglob("*")
        if each.is_file() and words.encode() in each.read_bytes()
    )


@pytest.fixture
def written(run: Run, room: Path) -> Path:
    """A room with notes, names, a struck record, backups, and a round being asked."""
    run("log", "room", '1 L1 "Anna was ill"; 2 L1 "all well"', "--on", "2026-03-12",
        "--by", "KT")  # fmt: skip
    run("log", "room", "3 L1", "--on", "2026-03-12", "--by", "LM")
    run("strike", "room", "@3", "--because", "Anna looked away", "--by", "KT")
    run("log", "room", "4 L1", "--on", "2026-03-13", "--by", "LM")
    return room


def test_a_note_is_gone_from_every_file(run: Run, folder: Path, written: Path) -> None:
    assert len(held(folder, "Anna was ill")) > 2
    told = run("redact", "room", "note", "@1", "--by", "PQ").stderr
    assert "Redacted 1 field of the file, 3 backups" in told
    assert held(folder, "Anna was ill") == []
    assert held(folder, "all well") != []
    assert "Anna looked away" in run("history", "room").stdout
    marks = run("redact", "room").stdout
    assert re.search(r"PQ +note +observations +@1", marks)
    run("verify", "room")
    checks = CohortFile(written).read().all_observations
    assert [(each.individual, each.stage, each.note) for each in checks] == [
        ("1", "L1", None), ("2", "L1", "all well"), ("3", "L1", None), ("4", "L1", None),
    ]  # fmt: skip


def test_history_tells_that_something_was_redacted_and_never_what(
    run: Run, folder: Path, written: Path
) -> None:
    assert "redacted" not in run("history", "room").stdout
    run("redact", "room", "note", "@1", "--by", "PQ")
    told = run("history", "room").stdout
    assert re.search(r"PQ +note +observations +@1", told)
    assert "Anna was ill" not in told
    assert "room: redacted" in run("history", "room", "1").stdout
    assert "room: redacted" not in run("history", "room", "2").stdout


def test_a_name_is_gone_wherever_somebody_wrote_it(run: Run, folder: Path, written: Path) -> None:
    run("redact", "room", "any", "--saying", "anna", "--by", "KT")
    assert held(folder, "Anna") == []
    assert "again" in run("redact", "room", "by", "--saying", "kt", "--by", "KT", fails=2).stderr
    run("redact", "room", "by", "--saying", "KT")
    assert held(folder, "KT") == []
    assert {each.by for each in CohortFile(written).read().all_observations} == {"?1", "LM"}
    run("redact", "room", "by")
    assert held(folder, "LM") == []
    run("verify", "room")


def test_a_place_is_gone_and_backups_can_still_be_gone_back_to(run: Run, folder: Path) -> None:
    run("start", "room", "--species", "painted-lady", "--eggs", "3", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC", "--place", "at the Webers")  # fmt: skip
    run("log", "room", "1 L1", "--on", "2026-03-12")
    run("log", "room", "2 L1", "--on", "2026-03-12")
    run("redact", "room", "place", "--by", "PQ")
    assert held(folder, "Webers") == []
    number = backups_of(folder / "room.json")[-1].number
    run("restore", "room", str(number))
    run("verify", "room")
    assert "place" in run("redact", "room").stdout
    assert len(CohortFile(folder / "room.json").read().all_observations) == 1


def test_a_damaged_backup_goes_too(run: Run, folder: Path, written: Path) -> None:
    damaged = backups_of(written)[-1].path
    damaged.write_bytes(damaged.read_bytes()[:-20])
    assert "1 damaged backup removed" in run("redact", "room", "note", "@1").stderr
    assert not damaged.exists()
    assert held(folder, "Anna was ill") == []


def test_a_dry_run_changes_nothing(run: Run, folder: Path, written: Path) -> None:
    before = {
        each: each.read_bytes()
        for each in folder.rglob("*")
        if each.is_file() and each.suffix != ".lock"
    }
    told = run("redact", "room", "note", "@1", "--dry-run").stderr
    assert "Would redact 1 field of the file, 3 backups" in told
    assert {each: each.read_bytes() for each in before} == before


def test_a_round_being_asked_is_redacted(run: Run, folder: Path, written: Path) -> None:
    run("check", "room", "--by", "KT", text='L1 "Anna"\n')
    draft = folder / ".rearlog" / "room.json.round"
    assert b"KT" in draft.read_bytes()
    run("redact", "room", "by", "--saying", "KT")
    assert held(folder, "KT") == []
    assert draft.exists()


def test_accepting_keeps_nothing_that_was_redacted(run: Run, folder: Path, written: Path) -> None:
    whole = written.read_text("utf-8")
    run("redact", "room", "note", "@1", "--by", "PQ")
    note = '"note":"Anna was ill",'
    assert note in whole
    with_note = re.sub(r'(\n"1":\{"individual":"1",)', rf"\1{note}", written.read_text("utf-8"))
    assert note in with_note
    written.write_text(with_note, "utf-8")
    run("verify", "room", "--accept")
    assert held(folder, "Anna was ill") == []
    run("verify", "room")


def test_a_copy_from_before_does_not_bring_it_back(run: Run, folder: Path, written: Path) -> None:
    old = folder / "old.json"
    old.write_bytes(written.read_bytes())
    run("redact", "room", "note", "@1")
    assert "cannot be merged" in run("merge", "room", "old.json", fails=1).stderr
    assert held(folder, "Anna was ill") == ["old.json"]


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["any"], 2, "say which words"),
        (["note", "1"], 2, "is not a record number"),
        (["note", "@77"], 1, "there is no record @77"),
        (["stage"], 2, "'note'"),
        (["note", "--saying", " "], 2, "no words"),
    ],
)
def test_what_cannot_be_redacted_is_said(
    run: Run, written: Path, words: list[str], code: int, message: str
) -> None:
    before = written.read_bytes()
    assert message in run("redact", "room", *words, fails=code).stderr
    assert written.read_bytes() == before


def test_a_cohort_is_called_by_its_label(run: Run, written: Path) -> None:
    run("rename", "room", "class-4b")
    run("redact", "room", "note", "@1", "--by", "PQ")
    for name in ("room", "class-4b"):
        assert run("redact", name).stdout.split()[:2] == ["class-4b:", "redacted"]


def test_nothing_found_is_said(run: Run, written: Path) -> None:
    assert "nothing of it" in run("redact", "room", "food", "--saying", "leek").stderr


def test_two_who_looked_at_one_moment_stay_two(run: Run, folder: Path, room: Path) -> None:
    for who in ("KT", "LM"):
        run("log", "room", "1 L1", "--on", "2026-03-12", "--by", who)
    run("redact", "room", "by")
    assert held(folder, "KT") == held(folder, "LM") == []
    assert [each.by for each in CohortFile(room).read().all_observations] == ["?1", "?2"]
    run("verify", "room")
    run("log", "room", "1 L2", "--on", "2026-03-15")
