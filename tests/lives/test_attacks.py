"""The store under attack, at the scale of `REARLOG_LIVES`: kills, failing calls, crowds, and files
that are spoilt byte by byte."""

import json
import os
import random
import shutil
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from errno import EACCES, EIO, ENOSPC, EROFS
from pathlib import Path
from typing import Any

import pytest

from rearlog.exchange import check_files, temperature_files
from rearlog.exchange.data_package import data_package, read_data_package
from rearlog.exchange.publication import Publication
from rearlog.records.errors import RearlogError
from rearlog.records.log import CohortLog
from rearlog.species.loader import check
from rearlog.species.loader import read as read_profile
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import encode, parsed
from rearlog.store.verification import verify
from tests.open_data import NOW, as_bytes, north
from tests.store.ways import WAYS, prepared, trial

SCALE = int(os.environ.get("REARLOG_LIVES", "100"))
LONGEST_SECONDS = 10.0
"""For one small file; usual are some thousandths."""


def crowd(*words: object) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.lives.crowd", *map(str, words)],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    print(found)
    return found


@pytest.mark.slow
def test_what_killed_writers_of_every_kind_acknowledged_is_there(tmp_path: Path) -> None:
    found = crowd("killed", tmp_path, SCALE, 20261126)
    assert found["lost"] == []
    assert found["twice"] == 0
    assert found["beside"] <= found["kills"]  # what was written and not acknowledged any more
    assert found["acknowledged"] >= found["kills"]
    assert found["sound"]
    assert min(found["reads"]) > 0
    hidden = [each.name for each in (tmp_path / ".rearlog").iterdir()]
    assert len(hidden) < 20, hidden


@pytest.mark.slow
def test_readers_hinder_no_writer(tmp_path: Path) -> None:
    entries = max(5, SCALE // 10)
    found = crowd("crowded", tmp_path, 8, entries, 30 if SCALE >= 1000 else 6)
    assert found["failed"] == 0
    assert found["written"] == found["records"] == 8 * entries
    assert found["sound"]
    assert min(found["reads"]) > 0


@pytest.mark.slow
def test_one_call_fails_anywhere(tmp_path: Path) -> None:
    chance, counts = random.Random(26), Counter[str]()
    befores = {way: tmp_path / way for way in WAYS}
    for way, folder in befores.items():
        prepared(folder, WAYS[way][0])
    for number in range(SCALE):
        way, at = chance.choice([*WAYS]), chance.randrange(1, 50)
        folder = tmp_path / str(number)
        shutil.copytree(befores[way], folder)
        met = trial(folder, way, at, chance.choice([ENOSPC, EIO, EACCES, EROFS]))
        counts["met" if met else "no such call"] += 1
        shutil.rmtree(folder)
    print(dict(counts))
    assert counts["met"] > SCALE // 2


def spoilt(content: bytes, chance: random.Random) -> bytes:
    """The file with one to four bytes, cells or lines changed, doubled, or gone."""
    found = bytearray(content)
    for _ in range(chance.choice([1, 1, 1, 2, 4])):
        place = chance.randrange(len(found) + 1)
        end = min(len(found), place + chance.choice([0, 1, 1, 4, 40]))
        put = chance.choice(
            [b"", b"", b",", b";", b'"', b"\n", b"\0", b"\xff", b"-", b"9" * 20, b"1e999", b"nan",
             b"=1+1", b"[", b"{}", b"null", b"\xf0\x9f\x90\x9b", found[place:end] * 2,
             bytes([chance.randrange(256)])]
        )  # fmt: skip
        found[place:end] = put
    return bytes(found)


def kinds(log: CohortLog, folder: Path) -> dict[str, tuple[bytes, Callable[[Path], object]]]:
    """Files of every kind that is read, and how each is read."""
    file = folder / "north.json"
    package = as_bytes(data_package(Publication((log,))))
    for name, content in package.items():
        (folder / "package" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "package" / name).write_bytes(content)

    def cohort(path: Path) -> None:
        verify(path, NOW, check)
        CohortFile(path).read()

    def sealed(path: Path) -> None:
        """Its checksum fits, so that what is in it is all that can be wrong."""
        path.write_bytes(encode(parsed(path.read_bytes(), path)))
        cohort(path)

    def packed(path: Path) -> None:
        shutil.copyfile(path, folder / "package" / "observations.csv")
        read_data_package(folder / "package", read_profile, NOW)

    tidy = "individual,at,stage,fate,cause,length_mm,by,note\n" + "".join(
        f'{code},2026-04-{day:02d}T08:40,L1,,,{day / 2},KT,"a, b"\n'
        for code in list(log.by_code)[:3]
        for day in range(1, 6)
    )
    sheet = "individual,last stage,2026-04-01,2026-04-02\n" + "".join(
        f'{code},L1,.,L2 head=0.9 "pale"\n' for code in list(log.by_code)[:3]
    )
    days = "date,min_c,max_c\n" + "".join(f"2026-04-{day:02d},18.5,23\n" for day in range(1, 20))
    logger = "Time,Temp (C)\n" + "".join(f"2026-04-01 {no:02d}:40,21.5\n" for no in range(24))
    look = lambda path: check_files.read(path, log, NOW)  # noqa: E731
    heat = lambda path: temperature_files.read(path, log, NOW)  # noqa: E731
    return {
        "tidy": (tidy.encode(), look),
        "sheet": (sheet.encode(), look),
        "days": (days.encode(), heat),
        "logger": (logger.encode(), heat),
        "cohort": (file.read_bytes(), cohort),
        "sealed cohort": (file.read_bytes(), sealed),
        "package": (package["observations.csv"], packed),
    }


@pytest.mark.slow
def test_a_spoilt_file_is_taken_or_told(tmp_path: Path) -> None:
    chance, counts, longest = random.Random(27), Counter[str](), 0.0
    log = north()
    file = CohortFile(tmp_path / "north.json")
    file.create(log.cohort, log.individuals)
    file.add_temperatures(log.all_temperatures, NOW)
    every = kinds(log, tmp_path)
    for number in range(30 * SCALE):
        name = [*every][number % len(every)]
        content, read = every[name]
        path = tmp_path / "spoilt.json" if "cohort" in name else tmp_path / "spoilt.csv"
        path.write_bytes(spoilt(content, chance))
        begin = time.process_time()
        try:
            read(path)
        except RearlogError:
            counts[f"{name} refused"] += 1
        else:
            counts[f"{name} taken"] += 1
        longest = max(longest, time.process_time() - begin)
    print(dict(counts), f"longest {longest:.3f} s")
    assert longest < LONGEST_SECONDS
    assert all(counts[f"{name} refused"] for name in every)
