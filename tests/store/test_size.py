"""Large files, honest and hostile: time in proportion, memory within bounds."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rearlog.store.layout import decode, encode
from tests.store.conftest import started

LARGEST_MB = 2000
MB = 2**20

READ = """
import json, resource, sys, time
from pathlib import Path
from rearlog.store.cohort_file import CohortFile
begin = time.process_time()
log = CohortFile(Path(sys.argv[1])).read()
last = log.all_observations[-1]
told = {"seconds": time.process_time() - begin, "number": last.number, "stage": last.stage}
told["mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps(told))
"""
VERIFY = """
import resource, sys
from rearlog.cli.main import main
try:
    main(["verify", sys.argv[1]])
except SystemExit as end:
    print("exit", end.code, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def run(program: str, path: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False
    )
    assert "Traceback" not in done.stderr, done.stderr[-2000:]
    return done.stdout


def long_log(path: Path, observations: int) -> Path:
    """A room of 1000 individuals with so many checks, one a second and individual."""
    started(path, 1000)
    tables = decode(path.read_bytes(), path).tables
    tables["observations"] = {
        str(number): {
            "individual": str(number % 1000 + 1),
            "at": f"2026-03-{10 + number // 86_400_000:02d}T{number // 3_600_000:02d}:"
            f"{number // 60_000 % 60:02d}:{number // 1000 % 60:02d}+00:00",
            "stage": "L1",
            "by": "KT",
            "entered": "2026-04-18T09:00:00+00:00",
        }
        for number in range(1, observations + 1)
    }
    path.write_bytes(encode(tables))
    return path


@pytest.mark.slow
def test_a_million_observations_are_read_in_two_gigabytes_and_in_proportion(
    tmp_path: Path,
) -> None:
    found: dict[int, dict[str, Any]] = {}
    for size in (100_000, 1_000_000):
        found[size] = json.loads(run(READ, long_log(tmp_path / f"room-{size}.json", size)))
        assert (found[size]["number"], found[size]["stage"]) == (size, "L1")
    assert found[1_000_000]["mb"] < LARGEST_MB
    # in proportion, and half as much again for a machine that is busy
    assert found[1_000_000]["seconds"] < 15 * found[100_000]["seconds"]


HOSTILE: dict[str, Callable[[], bytes]] = {
    "one long text": lambda: b'"' + b"x" * (100 * MB) + b'"',
    "one long text in a cohort": lambda: (
        b'{"cohort": {"1": {"name": "' + b"x" * (100 * MB) + b'"}}}'
    ),
    "spaces": lambda: b" " * (100 * MB),
    "brackets": lambda: b"[" * (100 * MB),
    "ones": lambda: b'{"a": {"1": [' + b"1," * (50 * MB) + b"1]}}",
    "empty objects": lambda: b'{"a": {"1": [' + b"{}," * (33 * MB) + b"{}]}}",
    "one key again and again": lambda: b"{" + b'"a":{},' * (14 * MB) + b'"b":{}}',
    "a number of a hundred million digits": lambda: b'{"a": ' + b"1" * (100 * MB) + b"}",
    "zero bytes": lambda: bytes(100 * MB),
}


@pytest.mark.slow
@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hundred_megabytes_of_nonsense_are_told_within_bounds(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "room.json"
    path.write_bytes(HOSTILE[kind]())
    told = run(VERIFY, path)
    exit_code, peak = told.rpartition("exit ")[2].split()
    assert exit_code == "1"
    assert int(peak) < LARGEST_MB
    assert len(told) < 3000  # the message does not repeat the nonsense
