"""Files as large as a spiteful hand can make them: refused in little memory, and soon."""

import os
import socket
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from rearlog.exchange import bundle, delimited
from rearlog.exchange.delimited import has_table, read_table
from rearlog.exchange.layouts import OBSERVATIONS
from rearlog.exchange.tables import TableWriter, read
from rearlog.records.errors import ImportRefused, Problem, ProfileError
from rearlog.species.loader import load
from tests.builders import START
from tests.exchange.conftest import FileOf

MOST_MB = 300
MB = 2**20
HEADER = "individual,at,stage\n"
MEASURED = """
import pathlib, re, resource, sys
from rearlog.cli.main import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    # what getrusage tells counts in the process that started this one, on Linux
    status = pathlib.Path("/proc/self/status")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    if status.exists():
        most = int(re.search(r"VmHWM:\\s+(\\d+) kB", status.read_text())[1])
    print("exit", end.code, most // 1024)
"""


def first(rows: delimited.Rows) -> int | None:
    return 0 if rows and rows[0][:1] == ["individual"] else None


@pytest.mark.parametrize(
    ("bound", "limit", "content", "message"),
    [
        ("LARGEST_BYTES", 100, HEADER + "1,2026-03-11,L1\n" * 6, "are not taken"),
        ("MOST_COLUMNS", 5, HEADER + "1,2026-03-11,L1,,,\n", "more than 5 are not taken"),
        ("MOST_TEXTS", 900, HEADER + "".join(map("{0},a,b{0}\n".format, range(900))), "900 diff"),
        ("MOST_CELLS", 900, HEADER + ",,\n" * 600, "cells"),
        ("LONGEST_ROW", 200, HEADER + '1,"' + "x\n" * 200 + '",L1\n', "200 characters"),
        ("LONGEST_CELL", 20, HEADER + f"1,{'x' * 21},L1\n", "20 characters"),
    ],
)
def test_each_bound_is_told(
    file_of: FileOf,
    monkeypatch: pytest.MonkeyPatch,
    bound: str,
    limit: int,
    content: str,
    message: str,
) -> None:
    path = file_of(content)
    monkeypatch.setattr(delimited, bound, limit)
    with pytest.raises(ImportRefused, match=message):
        read_table(path, first, "")


def test_too_many_lines_are_told_with_the_first_that_is_too_many(file_of: FileOf) -> None:
    path = file_of(HEADER + "1,2026-03-11,L1\n" * 400)
    assert len(read_table(path, first, "", most_rows=401).rows) == 401
    with pytest.raises(ImportRefused, match="line 401: it has more than 400 lines"):
        read_table(path, first, "", most_rows=400)


def test_texts_that_stand_there_again_are_kept_once_and_not_counted(
    file_of: FileOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delimited, "MOST_TEXTS", 9)
    found = read_table(file_of(HEADER + "1,2026-03-11,L1\n" * 900), first, "").rows
    assert len(found) == 901
    assert found[-1] == ["1", "2026-03-11", "L1"]
    assert all(one is other for one, other in zip(found[-1], found[-2], strict=True))


@pytest.mark.parametrize(
    ("bound", "limit", "remedy"),
    [
        ("delimited.LARGEST_BYTES", 5_000, "observations.csv: it has more than 0 MB"),
        ("delimited.MOST_ROWS", 300, "observations.csv: it has more than 300 lines"),
        ("delimited.MOST_CELLS", 2_000, "observations.csv: it has more than 2,000 cells"),
        ("delimited.MOST_TEXTS", 300, "observations.csv: it has more than 300 different cells"),
        ("bundle.LARGEST_BYTES", 5_000, "there is too much in it"),
        ("bundle.LARGEST_ARCHIVE", 500, "it has more than 0 MB"),
        ("bundle.MOST_FILES", 1, "there are 2 files in it"),
    ],
)
def test_what_is_written_and_would_not_be_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bound: str, limit: int, remedy: str
) -> None:
    files = {"observations.csv": "".join(rows(900)).encode(), "cohorts.csv": b"cohort\n"}
    path = tmp_path / "data.zip"
    bundle.write(path, files)
    assert bundle.untakeable(path, files) == ""
    monkeypatch.setattr(f"rearlog.exchange.{bound}", limit)
    assert bundle.untakeable(path, files).startswith(remedy)


@pytest.mark.slow
def test_a_table_as_long_as_an_export_may_write_is_read(tmp_path: Path) -> None:
    """270,000 checks: more than a laboratory makes in a year of rearing."""
    every = [
        {**dict.fromkeys(each.name for each in OBSERVATIONS.columns), **told}
        for told in (
            {"cohort": "room", "number": number, "individual": str(number % 2_000),
             "at": START + timedelta(hours=number // 2_000), "stage": "L1", "by": "KT",
             "length_mm": number % 900 / 10, "note": "on the leaf" if number % 5 else None}
            for number in range(1, 270_001)
        )
    ]  # fmt: skip
    path = tmp_path / OBSERVATIONS.file
    with path.open("w", encoding="utf-8", newline="") as file:
        TableWriter(OBSERVATIONS, file).write(every)
    problems: list[Problem] = []
    lines = read(path, OBSERVATIONS, problems)
    assert not problems
    assert len(lines) == len(every)
    for line, told in [*zip(lines, every, strict=True)][::997]:
        told = told | {"witnessed": False, "same": False}
        assert line.values == told


def test_only_the_head_is_looked_at_to_tell_what_a_file_is(file_of: FileOf) -> None:
    path = file_of(HEADER + "1,2026-03-11,L1\n" * 400 + '"never closed')
    assert has_table(path, first)
    with pytest.raises(ImportRefused, match="line 402: a quotation mark opens here"):
        read_table(path, first, "")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_what_is_no_file_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    with socket.socket(socket.AF_UNIX) as server:
        os.chdir(tmp_path)  # the name of a socket has to be short
        server.bind("socket")
        for name, kind in (("pipe", "a pipe"), ("folder", "a folder"), ("socket", "a socket")):
            for look in (lambda path: read_table(path, first, ""), unpack):
                if kind == "a folder" and look is unpack:
                    continue
                with pytest.raises(ImportRefused, match=kind):
                    look(tmp_path / name)
            with pytest.raises(ProfileError, match="not a file"):
                load(tmp_path / name)
    with pytest.raises(ImportRefused, match="a device"):
        read_table("/dev/zero", first, "")


def unpack(path: Path) -> None:
    with bundle.opened(path):
        pass


def archive(path: Path, members: dict[str, bytes], packing: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", packing) as target:
        for name, content in members.items():
            target.writestr(name, content)
    return path


def test_an_archive_has_bounds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    many = archive(tmp_path / "many.zip", {str(number): b"" for number in range(1_001)})
    with pytest.raises(ImportRefused, match="1,001 files in it"):
        unpack(many)
    dense = archive(tmp_path / "dense.zip", {"cohorts.csv": bytes(10 * MB)})
    with pytest.raises(ImportRefused, match=r"cohorts.csv is packed more than 200 times"):
        unpack(dense)
    rare = archive(tmp_path / "rare.zip", {"cohorts.csv": b"x" * 100}, zipfile.ZIP_LZMA)
    with pytest.raises(ImportRefused, match="in a way that is not taken"):
        unpack(rare)
    monkeypatch.setattr(bundle, "LARGEST_BYTES", 1_000)
    with pytest.raises(ImportRefused, match="too much in it"):
        unpack(archive(tmp_path / "large.zip", {"a": bytes(600), "b": bytes(600)}))
    monkeypatch.setattr(bundle, "LARGEST_ARCHIVE", 100)
    with pytest.raises(ImportRefused, match="are not taken"):
        unpack(many)


def test_an_archive_that_tells_less_than_it_holds_is_not_believed(tmp_path: Path) -> None:
    """The size in its list is forged: no more than that is unpacked, and the checksum tells."""
    path = archive(tmp_path / "forged.zip", {"cohorts.csv": b"x" * MB})
    content = path.read_bytes().replace(MB.to_bytes(4, "little"), (10).to_bytes(4, "little"))
    path.write_bytes(content)
    with pytest.raises(ImportRefused, match="neither a folder nor a ZIP"):
        unpack(path)


def rows(count: int) -> Iterator[str]:
    yield HEADER
    yield from (f"{number},2026-03-11,L{number}\n" for number in range(count))


HOSTILE: dict[str, tuple[tuple[str, ...], Callable[[], Iterator[str]]]] = {
    "blank rows": (("import",), lambda: iter(["\n" * 40 * MB])),
    "blank rows below titles": (("import",), lambda: iter([HEADER, "\n" * 40 * MB])),
    "one long line": (("import",), lambda: iter([HEADER, "x" * 45 * MB])),
    "separators": (("import",), lambda: iter([HEADER, "," * 45 * MB])),
    "a quotation mark": (("import",), lambda: iter([HEADER, '"', "x\n" * 20 * MB])),
    "wide letters": (("import",), lambda: iter([HEADER, "🐛,x,y\n" * 4 * MB])),
    "many cells": (("import",), lambda: iter([HEADER, "1,2,3,4,5,6,7,8,9\n" * 2 * MB])),
    "nobody's checks": (("import",), lambda: rows(2_000_000)),
    "nobody's checks within the bounds": (("import",), lambda: rows(490_000)),
    "too many titles": (("import",), lambda: iter([HEADER.strip(), ",x" * 200_000, "\n"])),
    "no end": (("import",), lambda: iter([HEADER, "1,2026-03-11,L1\n" * 4 * MB])),
    "readings": (("temps",), lambda: iter(["Time,Temp (C)\n", "2026-03-09 08:40,99\n" * 2 * MB])),
    "readings within the bounds": (
        ("temps",),
        lambda: iter(["Time,Temp (C)\n", "2026-03-09 08:40,99\n" * 590_000]),
    ),
    "a profile": (("species", "check"), lambda: iter(["a = 1\n" * 10 * MB])),
}


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="memory is measured otherwise there")
@pytest.mark.parametrize("name", [*HOSTILE, "an endless device", "a bomb"])
def test_what_is_refused_takes_little_memory(tmp_path: Path, name: str) -> None:
    program = [sys.executable, "-c", MEASURED]
    subprocess.run(
        [*program, "start", "room", "--species", "monarch", "--eggs", "9", "-q"],
        cwd=tmp_path, check=True, capture_output=True,
    )  # fmt: skip
    words: tuple[str, ...]
    if name == "an endless device":
        words = ("import", "room", "/dev/zero")
    elif name == "a bomb":
        with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as bomb:
            bomb.writestr("datapackage.json", "{}")
            for table in ("cohorts", "individuals", "observations", "temperatures"):
                bomb.writestr(f"{table}.csv", "".join(rows(240_000)) * 3)
        words = ("unpack", "bomb.zip")
    else:
        command, content = HOSTILE[name]
        with open(tmp_path / "hostile", "w", encoding="utf-8") as file:
            file.writelines(content())
        words = (*command, *(["room"] if command != ("species", "check") else []), "hostile")
    told = subprocess.run(
        [*program, *words], cwd=tmp_path, capture_output=True, text=True, timeout=120
    )
    assert told.stdout.startswith("exit 1 "), told.stderr[-400:]
    assert int(told.stdout.split()[-1]) <= MOST_MB, told.stderr[:400]
    print(name, told.stdout.strip(), told.stderr[:120].strip())


def test_a_name_that_no_file_can_have_is_told(tmp_path: Path) -> None:
    for name in ("a" * 300, "a\0b"):
        for look in (lambda path: read_table(path, first, ""), unpack):
            with pytest.raises(ImportRefused):
                look(tmp_path / name)
