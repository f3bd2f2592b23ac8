"""Any terminal, any pipe, any disk: what is written to them is never a reason to fall over."""

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import IO, Any

import pytest

from rearlog.records.log import Cohort, Individual
from rearlog.store.cohort_file import CohortFile
from tests.builders import START, small_profile
from tests.cli.terminal import PROGRAM

ENCODINGS = ("cp1252", "cp437", "cp850", "latin-1", "ascii")
PLACE = "Fensterbank – „Süd“, 窓辺"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a cohort whose place no encoding of one byte can write."""
    folder = tmp_path_factory.mktemp("streams")
    header = Cohort("room", small_profile(), "UTC", START, START, place=PLACE)
    individuals = [
        Individual(str(number), START, header.species.codes[0], note="“窓”", container="窓")
        for number in range(1, 4)
    ]
    CohortFile(folder / "room.json").create(header, individuals)
    (folder / "窓.csv").write_text("individual;at\n")
    return folder


def call(
    folder: Path, *words: str, encoding: str = "utf-8", stdout: int | IO[Any] = subprocess.PIPE
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*PROGRAM, *words],
        cwd=folder,
        env=os.environ | {"PYTHONIOENCODING": encoding, "COLUMNS": "100"},
        stdin=subprocess.DEVNULL,
        stdout=stdout,
        stderr=subprocess.PIPE,
        timeout=60,
    )


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_a_terminal_shows_what_its_letters_allow(folder: Path, encoding: str) -> None:
    shown = call(folder, "history", "room", encoding=encoding)
    assert (shown.returncode, shown.stderr) == (0, b"")
    refused = call(folder, "import", "room", "窓.csv", encoding=encoding)
    assert refused.returncode == 1
    [line] = refused.stderr.decode(encoding).splitlines()
    assert line.startswith("Error: ")
    assert "?.csv" in line


def test_signs_of_typesetting_become_plain_ones(folder: Path) -> None:
    told = call(folder, "start", "other", "--species", "maybé", "--eggs", "3", encoding="ascii")
    assert told.stderr.startswith(b'Error: there is no profile "mayb?" (')
    drawn = call(folder, "species", "show", "monarch", encoding="ascii")
    assert drawn.stdout.isascii()


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_json_and_csv_into_a_pipe_are_utf_8(folder: Path, encoding: str) -> None:
    (folder / "窓.json").write_bytes((folder / "room.json").read_bytes())
    told = call(folder, "verify", "./窓.json", "--format", "json", encoding=encoding)
    assert json.loads(told.stdout.decode("utf-8"))["cohorts"][0]["file"] == "窓.json"
    told = call(folder, "verify", "./窓x.json", "--format", "csv", encoding=encoding)
    rows = list(csv.DictReader(io.StringIO(told.stdout.decode("utf-8"))))
    assert "窓x.json" in rows[0]["message"]


def test_a_name_that_is_no_text_is_shown_all_the_same(folder: Path) -> None:
    name = os.fsdecode(b"\xff.json")
    (folder / name).write_bytes((folder / "room.json").read_bytes())
    for form in ("table", "json", "csv"):
        told = call(folder, "verify", name, "--format", form)
        assert told.returncode == 0, told.stderr.decode()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--help",), 1),  # click itself ends there
        (("history", "--help"), 0),
        (("history", "room"), 0),
        (("history", "room", "--format", "csv"), 0),
    ],
)
def test_a_reader_that_leaves_is_no_mistake(
    folder: Path, words: tuple[str, ...], code: int
) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        told = call(folder, *words, stdout=writing)
    finally:
        os.close(writing)
    assert (told.returncode, told.stderr) == (code, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
@pytest.mark.parametrize(
    "words", [("--help",), ("history", "room"), ("history", "room", "--format", "json")]
)
def test_a_full_device_is_one_line(folder: Path, words: tuple[str, ...]) -> None:
    with open("/dev/full", "wb") as full:
        told = call(folder, *words, stdout=full)
    assert told.returncode == 1
    assert told.stderr == b"Error: the output cannot be written: no space left on device\n"


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
def test_where_errors_cannot_be_shown_the_exit_code_tells(folder: Path) -> None:
    with open("/dev/full", "wb") as full:
        told = subprocess.run(
            [*PROGRAM, "history", "nobody"], cwd=folder, stderr=full, stdout=full, timeout=60
        )
    assert told.returncode == 1


@pytest.mark.parametrize("stream", ["stdin", "stdout", "stderr"])
def test_a_stream_may_be_missing(folder: Path, stream: str) -> None:
    closed = {"stdin": "<&-", "stdout": ">&-", "stderr": "2>&-"}[stream]
    program = f"{sys.executable} -c 'from rearlog.cli.main import main; main()'"
    told = subprocess.run(
        f"{program} history room {closed}", shell=True, cwd=folder, capture_output=True, timeout=60
    )
    assert (told.returncode, told.stderr) == (0, b"")
