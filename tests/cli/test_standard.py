"""`-` for a file: standard input and output, with nothing else on the latter."""

import gc
import io
import shutil
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rearlog.cli.main import main
from rearlog.records.log import DayExtremes
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run
from tests.cli.one_process import Device, called, full

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


def piped(*words: str, given: bytes | str = b"", code: int = 0) -> Result:
    result = CliRunner().invoke(main, words, input=given, catch_exceptions=False)
    assert result.exit_code == code, result.stderr
    return result


@pytest.fixture
def logged(run: Run, room: Path) -> Path:
    run("log", "room", "all same", "--on", "2026-03-10")
    shutil.copy(SAMPLES / "room.json", room.with_name("sample.json"))
    return room


def test_a_round_comes_in_line_by_line(room: Path) -> None:
    piped("log", "room", "-", "--on", "2026-03-10", given='1 L1 "a; b"\n2-3 same\n\n')
    checks = CohortFile(room).read().all_observations
    assert [(each.individual, each.note) for each in checks] == [
        ("1", "a; b"),
        ("2", None),
        ("3", None),
    ]
    assert "not UTF-8" in piped("log", "room", "-", given=b"1 L1 \xff", code=2).stderr
    assert "the line is empty" in piped("log", "room", "-", code=1).stderr


def test_checks_and_temperatures_come_in(room: Path) -> None:
    table = "individual,at,stage\n1,2026-03-10,L1\n"
    told = piped("import", "room", "-", given=table).stderr
    assert "standard input" in told
    assert "/" not in told
    piped("temps", "room", "-", given="date,min_c,max_c\n2026-03-10,18,23\n")
    log = CohortFile(room).read()
    assert [each.individual for each in log.all_observations] == ["1"]
    [day] = log.all_temperatures
    assert isinstance(day, DayExtremes)
    assert (day.min_c, day.source) == (18.0, "standard input")
    wrong = piped("import", "room", "-", given=table.replace("L1", "L9"), code=1).stderr
    assert wrong.startswith("Error: standard input")


OUTPUTS = {
    "chart stages room -o -": b"\x89PNG",
    "chart stages room -o -.svg": b"<?xml",
    "chart stages room -o -.svg --bare": b"<?xml",
    "table survival room -o -": b"stage",
    "table survival room -o -.tex": b"% in the preamble",
    "report room -o -": b"<!doctype html>",
    "sheet room --days 2 -o -": b"",
    "sheet room --tap -o -.html": b"<!doctype html>",
    "card --species monarch -o -": b"%PDF",
    "practice --species monarch -o -": b"<!doctype html>",
    "methods sample --bibtex -": b"@",
}


@pytest.mark.parametrize("command", OUTPUTS)
def test_a_file_goes_out_and_nothing_else(logged: Path, command: str) -> None:
    before = sorted(logged.parent.iterdir())
    result = piped(*command.split())
    begin = OUTPUTS[command]
    assert result.stdout_bytes[: len(begin)].lower() == begin.lower()
    assert len(result.stdout_bytes) > 100
    assert sorted(logged.parent.iterdir()) == before
    assert "rearlog-" not in result.stderr


def test_what_goes_out_is_what_a_file_would_hold(run: Run, logged: Path) -> None:
    for words, name in (
        (("chart", "stages", "room"), "a.svg"),
        (("table", "survival", "room"), "a.csv"),
        (("sheet", "room", "--days", "2"), "a.csv"),
    ):
        run(*words, "-o", name, "--force")
        suffix = Path(name).suffix
        assert piped(*words, "-o", f"-{suffix}").stdout_bytes == Path(name).read_bytes()


def test_an_archive_goes_out_and_comes_in(run: Run, logged: Path) -> None:
    sent = piped("export", "room", "-o", "-").stdout_bytes
    assert "datapackage.json" in zipfile.ZipFile(io.BytesIO(sent)).namelist()
    (logged.parent / "into").mkdir()
    piped("unpack", "-", "--into", "into", given=sent)
    assert (logged.parent / "into" / "room.json").is_file()


def test_a_screen_is_sent_no_picture(logged: Path) -> None:
    screen = Device(is_screen=True)
    code, aside = called(["chart", "stages", "room", "-o", "-"], screen)
    assert (code, screen.taken) == (2, b"")
    assert "a screen shows no .png" in aside
    assert called(["chart", "stages", "room", "-o", "-.svg"], Device(is_screen=True))[0] == 0


def test_a_full_disk_behind_it_is_one_line(logged: Path) -> None:
    code, aside = called(["table", "survival", "room", "-o", "-"], full())
    assert code == 1
    assert aside.splitlines()[-1].startswith("Error: the output cannot be written: no space left")


def test_a_command_that_fails_sends_nothing(logged: Path) -> None:
    assert piped("chart", "heat", "room", "-o", "-", code=2).stdout_bytes == b""
    told = piped("sheet", "room", "-o", "-.docx", code=2)
    assert told.stdout_bytes == b""
    assert "standard-output.docx is no kind of sheet" in told.stderr


def test_a_wrong_call_leaves_no_folder_behind(
    logged: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(logged.parent))
    words = ["practice", "-o", "-", "--species", "painted-lady", "--seed", "many"]
    assert CliRunner().invoke(main, words).exit_code == 2
    gc.collect()  # what was left behind warns when it goes
    assert [*logged.parent.glob("rearlog-*")] == []
