"""Threads of the server that are the first to read something, at the same instant."""

import subprocess
import sys
from pathlib import Path

import pytest

from rearlog.records.asked_round import answer, begin
from rearlog.store.cohort_file import CohortFile
from rearlog.store.draft import DraftFile
from tests.builders import moment
from tests.store.conftest import started

FIRST = """
import sys, threading
from pathlib import Path
from rearlog.store.cohort_file import CohortFile
from rearlog.store.draft import DraftFile

sys.setswitchinterval(1e-6)
path = Path(sys.argv[1])
together = threading.Barrier(8)
read = []

def reads():
    together.wait()
    log = CohortFile(path).read()
    read.append((log.cohort.name, len(log.individuals), DraftFile(path).read() is not None))

threads = [threading.Thread(target=reads) for _ in range(8)]
for each in threads:
    each.start()
for each in threads:
    each.join()
assert len(read) == 8 and len(set(read)) == 1, read
"""
TIMES = 12
"""Of so many starts one at least was killed where a type was laid out by whoever came first."""


@pytest.fixture
def asked(path: Path) -> Path:
    """A cohort in which a round is being asked."""
    started(path)
    draft = DraftFile(path)
    with draft.held():
        draft.write(answer(begin(CohortFile(path).read(), moment(2), "KT"), "L1").round)
    return path


@pytest.mark.slow
def test_threads_that_read_first_at_once_are_not_killed(asked: Path) -> None:
    for _ in range(TIMES):
        subprocess.run([sys.executable, "-c", FIRST, str(asked)], check=True)
