"""How long one entry takes in a log of 100,000 observations, beside the least it could take.

Run it with: python tests/benchmarks/log_entry.py [OBSERVATIONS]
The contract: no more than 4 times the floor (read, parse, serialise with orjson, write and fsync
the same bytes), and at least 3 times faster than the same insert by TinyDB's own storage.
"""

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import orjson
from tinydb import TinyDB

from rearlog.records.entries import parse, resolve
from rearlog.records.log import Cohort, Individual, Observation, state_at
from rearlog.species.catalogue import find
from rearlog.store import codec
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import encode

ROUNDS = 7
INDIVIDUALS = 1000
START = datetime(2026, 1, 1, 9, tzinfo=UTC)


def long_log(path: Path, observations: int) -> None:
    """Write a cohort of 1000 individuals, checked twice a day, without going through the rules."""
    profile = find("painted-lady")
    rounds = observations // INDIVIDUALS
    stages = len(profile.codes)
    individuals = [Individual(f"A{number:04d}", START, "egg") for number in range(INDIVIDUALS)]
    checks = [
        Observation(
            individual.code,
            START + timedelta(hours=12 * round_ + 12),
            profile.codes[stages * round_ // rounds],
            by="KT",
            length_mm=round(1 + 0.3 * round_, 1) if number % 3 == 0 else None,
            entered=START + timedelta(hours=12 * round_ + 12),
        )
        for round_ in range(rounds)
        for number, individual in enumerate(individuals)
    ]
    header = codec.to_document(Cohort(path.stem, profile, "UTC", START, START))
    tables = {
        "cohort": {"1": header},
        "individuals": _numbered(individuals),
        "observations": _numbered(checks),
    }
    path.write_bytes(encode(tables))


def _numbered(records: list[codec.Record]) -> dict[str, codec.Document]:
    return {str(number): codec.to_document(each) for number, each in enumerate(records, start=1)}


def moment(round_: int) -> datetime:
    return START + timedelta(days=200, minutes=round_)


def rearlog_entry(path: Path, round_: int) -> None:
    """What `rearlog log COHORT 'A0007 adult'` does once it is running."""
    file, at = CohortFile(path), moment(round_)
    entries = parse("A0007 adult")
    with file.held():
        log = file.outline(["A0007"])
        states = {
            each.code: state_at(each, log.checks[each.code], at)[0] for each in log.individuals
        }
        checks = resolve(entries, log.cohort.species, states, list(states), at, "KT")
        file.add_observations(checks, at)


def floor(path: Path, _round: int) -> None:
    """Read, parse, serialise, write and fsync the same bytes: nothing else."""
    content = orjson.dumps(orjson.loads(path.read_bytes()))
    other = path.with_suffix(".floor")
    descriptor = os.open(other, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    view = memoryview(content)
    while view:
        view = view[os.write(descriptor, view) :]
    os.fsync(descriptor)
    os.close(descriptor)


def stock_tinydb(path: Path, round_: int) -> None:
    """The same document, inserted as TinyDB does it without a storage of one's own."""
    document = codec.to_document(Observation("A0007", moment(round_), "adult", by="KT"))
    with TinyDB(path) as database:
        database.table("observations").insert(document)


def main() -> None:
    observations = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    tasks: dict[str, Callable[[Path, int], None]] = {
        "floor": floor,
        "rearlog": rearlog_entry,
        "stock TinyDB": stock_tinydb,
    }
    times: dict[str, list[float]] = {name: [] for name in tasks}
    with tempfile.TemporaryDirectory() as name:
        paths = {task: Path(name) / f"{number}.json" for number, task in enumerate(tasks)}
        for path in paths.values():
            long_log(path, observations)
        size = paths["floor"].stat().st_size
        for round_ in range(ROUNDS):
            for task, do in tasks.items():  # side by side: all share the machine's moods
                begin = time.perf_counter()
                do(paths[task], round_)
                times[task].append(time.perf_counter() - begin)
    print(f"one entry in a log of {observations:,} observations, {size / 1e6:.1f} MB")
    base = statistics.median(times["floor"])
    for task, values in times.items():
        middle = statistics.median(values)
        print(f"{task:14} {middle * 1000:8.1f} ms   {middle / base:5.2f} × the floor")


if __name__ == "__main__":
    main()
