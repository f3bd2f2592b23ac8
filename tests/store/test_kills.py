"""Writers that are killed, and many writers at once. No acknowledged record may be lost.

The writers run in processes of their own, forked by a small program, so that they can be killed at
any moment without the tests' own process being touched.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from rearlog.species.loader import check
from rearlog.store.cohort_file import CohortFile
from rearlog.store.verification import verify
from tests.builders import seen
from tests.store.conftest import NOW, add, started

COMMON = """
import json, os, random, signal, sys, time
from datetime import timedelta
from pathlib import Path
from rearlog.records.incoming import telling
from rearlog.records.log import Observation
from rearlog.store.cohort_file import CohortFile
from tests.builders import START
from tests.store.conftest import NOW

path, wanted, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
chance = random.Random(seed)

def write(code, minute):
    at = START + timedelta(minutes=minute)
    CohortFile(path).record([telling([Observation(code, at, "egg")])], NOW, [code])
"""

# A child writes entry after entry and is killed in the middle of one.
KILLED = (
    COMMON
    + """
from tests.store.killing import killed_at
done, begun = [], 0

def write_on(pipe):
    for minute in range(begun + 1, begun + 100):
        write("1", minute)
        os.write(pipe, b"%d\\n" % minute)

for _ in range(wanted):
    acknowledged = killed_at(write_on, chance.randrange(1, 6), chance.randrange(20_000))
    done += acknowledged
    begun = acknowledged[-1] + 1  # the next may be written, and not acknowledged
print(json.dumps({"done": done}))
"""
)

# A child kills itself at each of its system calls in turn.
KILLED_AT_EACH_CALL = (
    COMMON
    + """
from rearlog.store.backups import backups_of
from tests.store.disk import Disk
done, shared, at = [], [], 0
while True:
    at += 1
    child = os.fork()
    if child == 0:
        def last(count, call):
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)
        with Disk(path.parent, last).watched():
            write("1", at)
        os._exit(0)
    survived = os.waitpid(child, 0)[1] == 0
    found = [each.at for each in CohortFile(path).read().all_observations]
    shared += [at for each in backups_of(path) if each.path.samefile(path)]
    if survived:
        done.append(at)
        break
    if START + timedelta(minutes=at) in found:
        done.append(at)
    write("2", at)  # the lock is free
print(json.dumps({"done": done, "calls": at, "shared": shared}))
"""
)

MANY = (
    COMMON
    + """
import warnings
warnings.simplefilter("ignore")  # that one waits for another
from tests.store.killing import forked

def write_all(code):
    for minute in range(1, wanted + 1):
        write(code, minute)

children = [forked(lambda: write_all(str(number + 1))) for number in range(seed)]
print(json.dumps({"failed": sum(os.waitpid(child, 0)[1] != 0 for child in children)}))
"""
)


def run(program: str, path: Path, wanted: int, seed: int) -> dict[str, Any]:
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program, str(path), str(wanted), str(seed)],
        cwd=root, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def minutes(file: CohortFile, code: str) -> list[int]:
    log = file.read()
    start = log.cohort.started
    return [
        round((each.at - start).total_seconds() / 60)
        for each in log.all_observations
        if each.individual == code
    ]


def assert_whole(file: CohortFile) -> None:
    assert verify(file.path, NOW, check).sound
    add(file, seen("1", 39, "egg"))  # no lock is left behind
    hidden = file.path.parent / ".rearlog"
    assert not list(hidden.glob("*.new"))  # and what was unfinished is gone
    assert len(list(hidden.iterdir())) < 20


@pytest.mark.parametrize("kills", [12, pytest.param(300, marks=pytest.mark.slow)])
def test_a_killed_writer_loses_nothing_that_it_acknowledged(path: Path, kills: int) -> None:
    file = started(path)
    told = run(KILLED, path, kills, seed=20260309)
    assert len(told["done"]) >= kills
    found = minutes(file, "1")
    assert set(told["done"]) <= set(found)
    # beside them at most the one entry that each kill may have cut off from its acknowledgement
    assert len(set(found) - set(told["done"])) <= kills
    assert len(found) == len(set(found))
    assert_whole(file)


def test_a_writer_killed_at_any_call_leaves_the_old_or_the_new_file(path: Path) -> None:
    file = started(path)
    told = run(KILLED_AT_EACH_CALL, path, 0, 0)
    assert told["calls"] > 20
    assert told["shared"] == []  # the file and a backup are never one and the same
    assert minutes(file, "1") == told["done"]
    assert minutes(file, "2") == list(range(1, told["calls"]))
    assert_whole(file)


@pytest.mark.parametrize(
    ("writers", "entries"), [(4, 10), pytest.param(8, 200, marks=pytest.mark.slow)]
)
def test_many_writers_at_once_all_get_their_entries_in(
    path: Path, writers: int, entries: int
) -> None:
    file = started(path, writers)
    assert run(MANY, path, entries, writers) == {"failed": 0}
    for code in range(1, writers + 1):
        assert minutes(file, str(code)) == list(range(1, entries + 1))
    numbers = [each.number for each in file.read().all_observations]
    assert numbers == list(range(1, writers * entries + 1))
    assert_whole(file)


# Tells of each entry, and goes on with the next while the file is read.
WRITING = (
    COMMON
    + """
for minute in range(1, wanted + 1):
    write("1", minute)
    print(minute, flush=True)
"""
)


@pytest.mark.parametrize("entries", [30, pytest.param(300, marks=pytest.mark.slow)])
def test_a_reader_never_sees_half_a_write(path: Path, entries: int) -> None:
    file = started(path)
    with subprocess.Popen(
        [sys.executable, "-c", WRITING, str(path), str(entries), "0"],
        cwd=Path(__file__).parents[2], stdout=subprocess.PIPE, text=True,
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        counts = []
        for line in writer.stdout:
            counts.append(len(file.read().all_observations))
            assert counts[-1] >= int(line)
    assert writer.returncode == 0
    assert len(counts) == counts[-1] == entries
    assert counts == sorted(counts)
