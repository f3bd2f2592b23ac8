"""Keeping the record safe, as a person meets it: what is told, with which exit code, and what the
file is like afterwards."""

import json
import os
import shutil
import subprocess
import sys
import warnings
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.disk.notices import DiskWarning
from rearlog.notebook import Notebook
from rearlog.records import times
from rearlog.records.entries import resolve
from rearlog.records.errors import StoreError
from rearlog.records.incoming import telling
from rearlog.records.log import Observation
from rearlog.store import locking, recording
from rearlog.store.cohort_file import CohortFile
from rearlog.store.photos import keep, photo
from tests.cli.conftest import Run


@pytest.fixture
def logged(run: Run, room: Path) -> Path:
    """The room of five after two rounds: three have hatched."""
    run("log", "room", "all same", "--on", "2026-03-10")
    run("log", "room", "1-3 L1; rest same", "--on", "2026-03-11", "--by", "KT")
    return room


def history(run: Run, cohort: str = "room") -> list[str]:
    found = json.loads(run("history", cohort, "--format", "json").stdout)["observations"]
    return [
        f"{each['individual']} {each['fate'] or each['stage'] or 'same'}"
        for each in found
        if each["struck"] is None
    ]


NEXT_YEAR = f"{date.today().year + 1}-06-01"

# What is wrong with an entry: exit code 1, the place, the remedy, and the file as before.


@pytest.mark.parametrize(
    ("words", "message", "remedy"),
    [
        (["9 L1"], "at character 1, “9 L1”: no individual 9", "this cohort has 1, 2, 3, 4, 5"),
        (["1 same; 2 L9"], "at character 9, “2 L9”: “L9” is no stage or fate", "use egg, L1"),
        (["1 egg", "--strict"], "1 at 2026-03-13 09:00: egg comes before L1", "strike out @6"),
        (["1 L2", "--on", "2026-03-08"], "before the individual entered", "2026-03-09 09:00"),
        (["1 L2", "--on", NEXT_YEAR], "the round is in the future", "it is "),
        (
            ["1 L2", "--on", "2026-03-11", "--by", "KT"],
            "at that moment already",
            "@6 says L1",
        ),
        (["1 L2 len=-3"], "length -3 is not above zero", ""),
        (["1 L2 len=9999"], "length 9999 cannot be", "the unit is mm"),
        (['1 L2 "\udcff"'], "cannot be written down", "UTF-8"),
    ],
)
def test_a_wrong_entry_changes_nothing(
    run: Run, logged: Path, words: list[str], message: str, remedy: str
) -> None:
    before = logged.read_bytes()
    on = [] if "--on" in words else ["--on", "2026-03-13"]
    told = run("log", "room", *words, *on, fails=1).stderr
    assert message in told
    assert remedy in told
    assert logged.read_bytes() == before


def test_what_contradicts_another_record_is_kept_and_listed_until_it_is_settled(
    run: Run, logged: Path
) -> None:
    run("log", "room", "1 dead(shrivelled)", "--on", "2026-03-12")
    told = run("log", "room", "1 same", "--on", "2026-03-13").stderr
    doubt = (
        "1 at 2026-03-13 09:00 (@12): it is dead since 2026-03-12 09:00 "
        "(strike out @11 or @12, whichever was the mistake)"
    )
    assert f"In doubt: {doubt}" in told
    for words in (("verify", "room"), ("today", "room"), ("history", "room", "1")):
        told = run(*words).stderr
        assert (
            "In doubt in room: 1: same at 2026-03-13 09:00 (@12) comes after dead(shrivelled) at "
            "2026-03-12 09:00 (@11); @11 counts; to settle it: "
            "rearlog strike room @11 or @12 --because TEXT"
        ) in told
    run("strike", "room", "11", "--because", "it moved again")
    assert run("verify", "room").stderr == ""


def test_when_a_call_is_struck_the_no_changes_after_it_follow(run: Run, logged: Path) -> None:
    def stage_of_3() -> str:
        history = Notebook(logged).event_history
        return history.stages[history.last_rank[history.codes.index("3")]]

    run("log", "room", "3 L2", "--on", "2026-03-15")  # it was cup 2 that molted
    for day in ("16", "17", "18"):
        run("log", "room", "3 same", "--on", f"2026-03-{day}")
    assert stage_of_3() == "L2"
    run("strike", "room", "11", "--because", "wrong cup")
    assert stage_of_3() == "L1"


# What is wrong with the file itself.


@pytest.mark.parametrize(
    ("damage", "message", "remedy"),
    [
        (lambda content: content[:-50], "(the file ends too early)", "rearlog restore room"),
        (lambda _: b"my notes", "is not JSON at line 1, column", "rearlog restore room"),
        (lambda _: b"", "is not JSON", "rearlog restore room"),
        (lambda content: content.replace(b'"L1"', b'"L2"'), "checksum", "rearlog verify room"),
        (
            lambda content: content.replace(b'"format":3', b'"format":4'),
            "format 4; this rearlog reads up to 3",
            "install a newer one",
        ),
    ],
)
def test_a_file_that_is_not_sound_is_told_and_left_alone(
    run: Run, logged: Path, damage: object, message: str, remedy: str
) -> None:
    assert callable(damage)
    logged.write_bytes(damage(logged.read_bytes()))
    before = logged.read_bytes()
    for words in (["log", "room", "1 L2"], ["durations", "room"], ["history", "room"]):
        told = run(*words, fails=1).stderr
        assert message in told
        assert remedy in told
    assert logged.read_bytes() == before


def test_a_read_only_file_is_told(run: Run, logged: Path) -> None:
    before = logged.read_bytes()
    logged.chmod(0o444)
    told = run("log", "room", "1 L2", fails=1).stderr
    assert "room.json is read-only; nothing changed (allow writing to it first)" in told
    assert logged.read_bytes() == before
    run("log", "room", "1 L2", "--on", "2026-03-13", "--dry-run")  # looking is allowed


def test_a_cohort_that_exists_is_not_started_again(run: Run, logged: Path) -> None:
    before = logged.read_bytes()
    told = run("start", "room", "--species", "monarch", "--eggs", "3", fails=1).stderr
    assert "room.json exists already (choose another name)" in told
    assert logged.read_bytes() == before


def test_a_folder_that_is_not_there_is_told(run: Run) -> None:
    told = run("start", "shelf/new.json", "--species", "monarch", "--eggs", "3", fails=1).stderr
    assert "there is no folder shelf" in told


# verify


def test_verify_tells_what_is_in_a_sound_file(run: Run, logged: Path) -> None:
    shown = run("verify", "room").stdout
    assert shown.split()[-10:-3] == ["room", "yes", "5", "10", "0", "0", "0"]
    told = json.loads(run("verify", "room", "--format", "json").stdout)
    assert told["cohorts"][0] | {"problems": []} == {
        "cohort": "room", "file": "room.json", "sound": True, "format": 3, "intact": True,
        "bytes": logged.stat().st_size, "individuals": 5, "observations": 10, "struck": 0,
        "temperatures": 0, "problems": [], "backups": 2,
        "backup_bytes": told["cohorts"][0]["backup_bytes"],
        "photos": 0, "photos_unnamed": 0,
    }  # fmt: skip


def test_verify_names_individual_and_record_in_every_form(run: Run, logged: Path) -> None:
    logged.write_text("L9".join(logged.read_text().rsplit("L1", 1)))
    shown = run("verify", "room", fails=1).stdout
    assert "NO" in shown
    told = json.loads(run("verify", "room", "--format", "json", fails=1).stdout)["cohorts"][0]
    assert [each["place"] for each in told["problems"]] == [
        "room.json", "3 at 2026-03-11 09:00 (@8)",
    ]  # fmt: skip
    rows = run("verify", "room", "--format", "csv", fails=1).stdout.splitlines()
    assert rows[0] == "cohort,place,message,remedy"
    assert rows[2].startswith("room,3 at 2026-03-11 09:00 (@8),stage L9 is not in")


def test_verify_looks_at_several_files_and_fails_if_one_is_not_sound(
    run: Run, logged: Path
) -> None:
    shutil.copyfile(logged, "warm.json")
    run("verify", "room", "warm")
    Path("warm.json").write_bytes(b"{}")
    told = json.loads(run("verify", "room", "warm", "gone", "--format", "json", fails=1).stdout)
    assert [each["sound"] for each in told["cohorts"]] == [True, False, False]


def test_verify_shows_many_problems_in_short_and_lists_all_as_csv(run: Run, logged: Path) -> None:
    for minute in range(8):
        run("log", "room", "all same", "--on", f"2026-03-13T10:{minute:02d}")
        run("log", "room", "all same", "--on", f"2026-03-14T10:{minute:02d}")
    logged.write_text(logged.read_text().replace('"at":"2026', '"at":"2096'))
    shown = run("verify", "room", fails=1).stdout
    assert "… and 41 more: --format csv lists all." in shown
    assert len(run("verify", "room", "--format", "csv", fails=1).stdout.splitlines()) == 92


def test_a_change_by_hand_can_be_accepted(run: Run, logged: Path) -> None:
    logged.write_text(logged.read_text().replace('"by":"KT"', '"by":"AB"'))
    assert (
        "rearlog verify --accept room" in run("verify", "room", "--format", "json", fails=1).stdout
    )
    run("verify", "room", "--accept")
    run("verify", "room")
    run("log", "room", "1 L2", "--on", "2026-03-13")
    assert "before accepting" in run("restore", "room", "--format", "json").stdout
    told = run("verify", "room", "--accept", fails=1).stderr
    assert "there is nothing to accept" in told


# restore


def test_restore_lists_and_brings_back_without_losing_the_newer(run: Run, logged: Path) -> None:
    newer = history(run)
    listed = json.loads(run("restore", "room", "--format", "json").stdout)["backups"]
    assert [(each["number"], each["observations"]) for each in listed] == [(1, 0), (2, 5)]
    told = run("restore", "room", "2").stderr
    assert "with 5 checks; the newer file is kept as a backup" in told
    assert len(history(run)) == 5
    assert "before restoring" in run("restore", "room").stdout
    run("restore", "room", "3")
    assert history(run) == newer


def test_restore_counts_as_verify_does(run: Run, logged: Path) -> None:
    """Not whom somebody withdrew, nor the looks at it; struck ones are among the checks of both."""
    run("strike", "room", "@1", "--because", "mistyped")
    run("withdraw", "room", "5", "--because", "an empty cup")
    found = json.loads(run("verify", "room", "--format", "json").stdout)["cohorts"][0]
    run("log", "room", "1 L1", "--on", "2026-03-12")
    last = json.loads(run("restore", "room", "--format", "json").stdout)["backups"][-1]
    counts = ("individuals", "observations")
    assert [found[each] for each in counts] == [last[each] for each in counts] == [4, 8]
    assert "with 8 checks" in run("restore", "room", str(last["number"])).stderr


def test_restore_brings_a_damaged_or_deleted_file_back(run: Run, logged: Path) -> None:
    logged.write_bytes(logged.read_bytes()[:-50])
    run("restore", "room", "2")
    assert len(history(run)) == 5
    logged.unlink()
    run("history", "room", fails=1)
    run("restore", "room", "2")
    assert len(history(run)) == 5


@pytest.mark.parametrize(
    ("number", "exit_code", "message"),
    [
        ("99", 2, "there is no backup 99"),
        ("0", 2, "0 is not in the range"),
        ("x", 2, "not a valid"),
    ],
)
def test_a_backup_that_there_is_not(
    run: Run, logged: Path, number: str, exit_code: int, message: str
) -> None:
    before = logged.read_bytes()
    assert message in run("restore", "room", number, fails=exit_code).stderr
    assert logged.read_bytes() == before


def test_restore_without_backups_says_so(run: Run, room: Path) -> None:
    assert "There are no backups of room.json" in run("restore", "room").stderr


@pytest.mark.parametrize("words", [(), ("3",), ("--format", "json")])
def test_restore_of_no_cohort_is_refused(run: Run, words: tuple[str, ...]) -> None:
    assert "there is no cohort file attic.json" in run("restore", "attic", *words, fails=1).stderr


# merge


def test_merge_unites_two_copies(run: Run, logged: Path) -> None:
    shutil.copyfile(logged, "room (copy from the lab).json")
    run("log", "room", "1 L2; 2 same", "--on", "2026-03-12")
    run("log", "room (copy from the lab).json", "4 L1; 2 same", "--on", "2026-03-12")
    run("strike", "room (copy from the lab).json", "@10", "--because", "wrong cup")
    before = history(run)
    told = run("merge", "room", "room (copy from the lab).json").stderr
    assert "0 individuals, 1 check and 0 temperature records added; 1 record struck out" in told
    assert before[9] == "5 same"
    assert history(run) == [*before[:9], *before[10:], "4 L1"]
    run("verify", "room")


def test_merge_lists_every_contradiction_and_writes_nothing(run: Run, logged: Path) -> None:
    shutil.copyfile(logged, "copy.json")
    run("log", "room", "1 L2; 2 L2; 3 L1", "--on", "2026-03-12")
    run("log", "copy", "1 L1; 2 L3; 3 L1", "--on", "2026-03-12")
    before, other = logged.read_bytes(), Path("copy.json").read_bytes()
    told = run("merge", "room", "copy", fails=1).stderr
    assert "2 problems, nothing was changed" in told
    assert "1 at 2026-03-12 09:00: @11 says “1 L2”, the other copy “1 L1”" in told
    assert "2 at 2026-03-12 09:00: @12 says “2 L2”, the other copy “2 L3”" in told
    assert (logged.read_bytes(), Path("copy.json").read_bytes()) == (before, other)


def test_merge_takes_only_a_copy_of_the_same_cohort(run: Run, logged: Path) -> None:
    run("start", "other", "--species", "monarch", "--eggs", "3", "--on", "2026-03-09")
    assert "only copies of one cohort are merged" in run("merge", "room", "other", fails=1).stderr
    assert "is the cohort itself" in run("merge", "room", "room", fails=2).stderr
    os.symlink("room.json", "link.json")
    assert "is the cohort itself" in run("merge", "room", "link", fails=2).stderr
    assert "there is no cohort file gone.json" in run("merge", "room", "gone", fails=1).stderr


# names that would do harm


@pytest.mark.parametrize("name", ["\x1b[2J\x1b]0;owned\x07.json", "a\nb.json", "\udcff.json"])
def test_a_name_with_control_characters_does_no_harm(run: Run, name: str) -> None:
    for words in (["verify", name], ["history", name], ["restore", name], ["log", name, "1 L1"]):
        result = CliRunner().invoke(main, words, catch_exceptions=False)
        shown = result.stdout + result.stderr
        assert all(letter.isprintable() or letter == "\n" for letter in shown)
        assert "a\nb" not in shown


def test_words_in_the_log_that_a_terminal_would_obey_are_shown_harmless(
    run: Run, logged: Path
) -> None:
    run("log", "room", '1 L2 "\x1b[2J\x1b]0;owned\x07"', "--on", "2026-03-13", "--by", "\x1b[31m")
    for words in (["history", "room"], ["log", "room", "1 dead(\x1b[2J)", "--dry-run"]):
        result = run(*words)
        assert "\x1b" not in result.stdout + result.stderr
    run("verify", "room")


@pytest.mark.parametrize("name", ["..", "a b", "röom", "", "shelf/a b.json", "\x1b[2J"])
def test_a_cohort_is_not_started_under_a_name_that_is_none(
    run: Run, folder: Path, name: str
) -> None:
    words = ["--species", "monarch", "--eggs", "3"]
    (folder / "shelf").mkdir()
    run("start", name, *words, fails=2)
    assert list(folder.rglob("*")) == [folder / "shelf"]


@pytest.mark.parametrize(("words", "locked"), [([], True), (["--dry-run"], False)])
def test_what_same_means_still_holds_when_it_is_written(
    run: Run, logged: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], locked: bool
) -> None:
    """Between reading what `same` means and writing it down nobody else may write."""
    refused: list[str] = []

    def beaten_to_it(*given: Any) -> list[Observation]:
        check = Observation("1", datetime(2026, 3, 12, tzinfo=UTC), "L2")
        try:
            CohortFile(logged).record([telling([check])], datetime(2026, 3, 13, tzinfo=UTC))
        except StoreError as error:
            refused.append(str(error))
        return resolve(*given)

    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.05)
    monkeypatch.setattr(recording, "resolve", beaten_to_it)
    run("log", "room", "1 same", "--on", "2026-03-13", *words)
    assert bool(refused) is locked


def test_rounds_at_once_are_all_kept(run: Run, logged: Path) -> None:
    program = "from rearlog.cli.main import main; main()"
    lines = [
        [sys.executable, "-c", program, "log", "room", f"{code} L2", "--on", "2026-03-13"]
        for code in (1, 2, 3)
    ]
    running = [subprocess.Popen(each, stderr=subprocess.PIPE) for each in lines]
    for each in running:
        _, errors = each.communicate()
        assert each.returncode == 0, errors
    assert sorted(history(run)[-3:]) == ["1 L2", "2 L2", "3 L2"]


def test_without_backups_nothing_is_promised(run: Run, room: Path) -> None:
    told = run("restore", "room")
    assert "only a copy from elsewhere" in told.stderr
    assert told.stdout == ""


def test_verify_says_how_much_room_the_backups_take(run: Run, logged: Path) -> None:
    files = [each for each in (logged.parent / ".rearlog").iterdir() if each.name[-1].isdigit()]
    size = sum(each.stat().st_size for each in files)
    (found,) = json.loads(run("verify", "room", "--format", "json").stdout)["cohorts"]
    assert (found["backups"], found["backup_bytes"]) == (len(files), size) == (2, size)
    assert f"2 ({size / 1000:.0f} kB)" in run("verify", "room").stdout


def test_verify_of_a_cohort_without_backups(run: Run, room: Path) -> None:
    (found,) = json.loads(run("verify", "room", "--format", "json").stdout)["cohorts"]
    assert (found["backups"], found["backup_bytes"]) == (0, 0)
    shutil.rmtree(room.parent / ".rearlog")
    (room.parent / ".rearlog").write_text("no folder")
    assert "cannot be listed" in run("verify", "room").stdout


def test_a_command_that_waits_for_another_says_so_on_standard_error(
    run: Run, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    warnings.simplefilter("default", DiskWarning)
    monkeypatch.setattr(locking, "SILENT_SECONDS", 0.01)
    monkeypatch.setattr(locking, "PATIENCE_SECONDS", 0.02)
    with locking.lock(room):
        told = run("log", "room", "1 L1", fails=1)
        assert told.stdout == ""
        waiting, given_up = told.stderr.splitlines()
        assert waiting.startswith("Note: waiting for ")
        assert f"by process {os.getpid()} on " in waiting
        assert given_up.startswith("Error: ")
        assert len(run("log", "room", "1 L1", "--quiet", fails=1).stderr.splitlines()) == 1


def test_a_copy_that_cannot_be_compared_is_told(
    run: Run, logged: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stale(*_: object) -> bool:
        raise OSError(116, "Stale file handle")

    monkeypatch.setattr(Path, "samefile", stale)
    assert "there is no cohort file" in run("merge", "room", "nowhere", fails=1).stderr


def test_verify_counts_the_pictures_of_looks(run: Run, logged: Path) -> None:
    file = CohortFile(logged)
    named = keep(logged, b"a picture")
    keep(logged, b"another that nobody names")
    look = replace(file.read().all_observations[-1], number=None, photo=named)
    file.record([telling([replace(look, at=look.at + timedelta(hours=1))])], times.now("UTC"))
    shown = run("verify", "room").stdout
    assert "room: 1 picture named by looks; 1 more named by none, which does no harm." in shown


def test_a_picture_is_redacted_by_the_number_of_its_look(run: Run, logged: Path) -> None:
    file = CohortFile(logged)
    named = keep(logged, b"a picture")
    look = replace(file.read().all_observations[-1], number=None, photo=named)
    late = replace(look, at=look.at + timedelta(hours=1))
    (written,) = file.record([telling([late])], times.now("UTC")).checks
    told = run("redact", "room", "photo", f"@{written.number}").stderr
    assert "1 field of the file" in told
    assert "1 picture" in told
    assert photo(logged, named) is None
