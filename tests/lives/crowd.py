"""Writers that are killed, and writers and readers at once, as a program of its own.

    python -m tests.lives.crowd killed FOLDER KILLS SEED
    python -m tests.lives.crowd crowded FOLDER WRITERS ENTRIES READERS

It forks, so that processes can be killed without the tests' own being touched, and prints what it
found as JSON.
"""

import json
import os
import random
import resource
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from functools import partial
from pathlib import Path

from rearlog.disk.notices import DiskWarning
from rearlog.exchange import check_files
from rearlog.records.entries import parse
from rearlog.records.log import CohortLog, Mark, Readings
from rearlog.species.loader import check
from rearlog.store.cohort_file import CohortFile
from rearlog.store.recording import record_round
from rearlog.store.verification import verify
from tests.builders import START
from tests.store.conftest import NOW, started
from tests.store.killing import forked, killed_at


def log(file: CohortFile, step: int) -> None:
    record_round(file, parse("1 L1"), START + timedelta(minutes=step), None, NOW)


def bring(file: CohortFile, step: int) -> None:
    table = file.path.with_name(f"new-{os.getpid()}.csv")
    at = (START + timedelta(minutes=step)).isoformat()
    table.write_text(f"individual,at,stage\n2,{at},L1\n", "utf-8")
    file.record([partial(check_files.read, table, now=NOW)], NOW, pass_known=True)
    table.unlink()


def strike(file: CohortFile, step: int) -> None:
    looks = file.outline(["1"]).checks["1"]
    if not looks or looks[-1].number is None:  # the one before was struck, and not acknowledged
        log(file, step)
    else:
        file.strike([looks[-1].number], [], Mark(NOW, f"step {step}"))


def temps(file: CohortFile, step: int) -> None:
    file.add_temperatures([Readings(START + timedelta(minutes=step), (0,), (20.0,))], NOW)


DEEDS: tuple[Callable[[CohortFile, int], None], ...] = (log, bring, temps, strike)


def write_on(path: Path, pipe: int, *, step: int) -> None:
    """Write one thing after the other, and acknowledge each."""
    while True:
        DEEDS[step % len(DEEDS)](CohortFile(path), step)
        os.write(pipe, b"%d\n" % step)
        step += 1


def done_in(log: CohortLog) -> list[int]:
    """The steps that are in the log."""
    looks = [round((each.at - START).total_seconds() / 60) for each in log.all_observations]
    heat = [
        round((each.at - START).total_seconds() / 60)
        for each in log.all_temperatures
        if isinstance(each, Readings)
    ]
    struck = [
        int(each.struck.because.removeprefix("step "))
        for each in log.all_observations
        if each.struck is not None
    ]
    return [*looks, *heat, *struck]


@contextmanager
def readers(path: Path, count: int) -> Iterator[list[int]]:
    """So many who read over and over; at the end, how often each did: -1 for one that failed."""
    stop, reads = path.with_name("stop"), list[int]()
    reading, writing = os.pipe()
    children = [forked(partial(_read_on, path, stop, writing)) for _ in range(count)]
    try:
        yield reads
    finally:
        stop.touch()
        failed = sum(os.waitpid(child, 0)[1] != 0 for child in children)
        os.close(writing)
        told = b""
        while piece := os.read(reading, 65536):
            told += piece
        reads += [*map(int, told.split()), *[-1] * failed]
        stop.unlink()


def _read_on(path: Path, stop: Path, pipe: int) -> None:
    count, known, parent = 0, 0, os.getppid()
    while not stop.exists() and os.getppid() == parent:  # nor when that one was stopped
        found = len(done_in(CohortFile(path).read()))
        assert found >= known, "what was there is gone"
        known, count = found, count + 1
        time.sleep(0.05)
    os.write(pipe, b"%d\n" % count)


def killed(folder: str, kills: str, seed: str) -> dict[str, object]:
    path, chance = Path(folder) / "room.json", random.Random(int(seed))
    started(path)
    acknowledged: list[int] = []
    step = 0
    with readers(path, 2) as reads:
        for _ in range(int(kills)):
            begin = partial(write_on, path, step=step)
            acknowledged += killed_at(begin, chance.randrange(1, 6), chance.randrange(40_000))
            step = acknowledged[-1] + 2  # the next may be written, and not acknowledged
    found = done_in(CohortFile(path).read())
    return {
        "kills": int(kills),
        "acknowledged": len(acknowledged),
        "lost": sorted({*acknowledged} - {*found}),
        "twice": len(found) - len({*found}),
        "beside": len({*found} - {*acknowledged}),
        "reads": reads,
        "sound": verify(path, NOW, check).sound,
    }


def crowded(folder: str, writers: str, entries: str, count: str) -> dict[str, object]:
    path = Path(folder) / "room.json"
    started(path, int(writers))

    def write(code: str) -> None:
        for minute in range(1, int(entries) + 1):
            at = START + timedelta(minutes=minute)
            record_round(CohortFile(path), parse(f"{code} L1"), at, None, NOW)
            time.sleep(0.02)  # who writes without a pause leaves the others little chance

    with readers(path, int(count)) as reads:
        children = [forked(partial(write, str(no + 1))) for no in range(int(writers))]
        failed = sum(os.waitpid(child, 0)[1] != 0 for child in children)
    checks = CohortFile(path).read().all_observations
    return {
        "failed": failed,
        "written": len({(each.individual, each.at) for each in checks}),
        "records": len(checks),
        "reads": reads,
        "sound": verify(path, NOW, check).sound,
    }


if __name__ == "__main__":
    warnings.simplefilter("ignore", DiskWarning)  # that one waits for another
    begin = time.monotonic()
    result = {"killed": killed, "crowded": crowded}[sys.argv[1]](*sys.argv[2:])
    used = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    most = max(each.ru_maxrss for each in used)
    print(json.dumps(result | {"seconds": round(time.monotonic() - begin, 1), "mb": most // 1024}))
