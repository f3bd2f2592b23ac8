"""How long one entry takes in a log of 100,000 observations, beside the least it could take.

Run it with: python -m tests.benchmarks.log_entry
"""

from __future__ import annotations

import os
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

import orjson
from tinydb import TinyDB

from rearlog.records.entries import parse, resolve
from rearlog.records.incoming import telling
from rearlog.records.log import Observation, state_at
from rearlog.store import codec
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import no_collection
from tests.benchmarks.costs import Task, of_call, side_by_side
from tests.benchmarks.goals import Goal, faster, no_slower, show
from tests.benchmarks.made_logs import START, Size, write

ROUNDS = 7
SIZE = Size(individuals=1000, checks=100)


def moment(round_: int) -> datetime:
    return START + timedelta(days=200, minutes=round_)


def rearlog_entry(path: Path, round_: int) -> None:
    """What `rearlog log COHORT 'A00007 adult'` does once it is running."""
    file, at = CohortFile(path), moment(round_)
    entries = parse("A00007 adult")
    with file.held():
        log = file.outline(["A00007"])
        states = {
            each.code: state_at(each, log.checks[each.code], at)[0] for each in log.individuals
        }
        checks = resolve(entries, log.cohort.species, states, list(states), at, "KT")
        file.record([telling(checks)], at, ["A00007"])


def floor(path: Path, _round: int) -> None:
    """Read, parse, serialise, write and fsync the same bytes: nothing else."""
    with no_collection():
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
    document = codec.to_document(Observation("A00007", moment(round_), "adult", by="KT"))
    with TinyDB(path) as database:
        database.table("observations").insert(document)


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        paths = {task: Path(name) / f"{task}.json" for task in ("ours", "floor", "stock")}
        for path in paths.values():
            write(path, SIZE)
        tasks: dict[str, Task] = {
            "ours": lambda round_: of_call(lambda: rearlog_entry(paths["ours"], round_)),
            "floor": lambda round_: of_call(lambda: floor(paths["floor"], round_)),
            "stock": lambda round_: of_call(lambda: stock_tinydb(paths["stock"], round_)),
        }
        costs = side_by_side(tasks, ROUNDS)
    what = f"one entry in {SIZE.observations:,} observations"
    return [
        no_slower(what, costs["ours"], "the same bytes with orjson", costs["floor"], 4),
        faster(what, costs["ours"], "TinyDB's own storage", costs["stock"], 3),
    ]


if __name__ == "__main__":
    show(goals())
