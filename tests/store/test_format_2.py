"""Files that format 2 wrote, which had no identity: `samples/format-2-room.json`."""

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rearlog.notebook import Notebook
from rearlog.records.log import Individual, Mark
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import Tables, inspect
from rearlog.store.redacting import redact
from rearlog.store.redaction import Wanted
from tests.builders import moment, seen
from tests.store.conftest import NOW, add, header, states

SAMPLES = Path(__file__).parent / "samples"
KNOWN = "6af88986-8066-569f-821a-9e14da0dbb3b"
"""The identity of the room, by `uuid.uuid5` over its name, zone, start and moment of writing."""


def write_as_2(path: Path, tables: Tables) -> None:
    """A file of format 2 as the program wrote it, with nothing of the program's own."""
    names = sorted((each for each in tables if each != "file"), key="observations".__eq__)
    body = ",\n".join(
        f'"{name}":{{\n'
        + ",\n".join(
            f'"{number}":{json.dumps(each, separators=(",", ":"), ensure_ascii=False)}'
            for number, each in tables[name].items()
        )
        + "}"
        for name in names
    )
    rest = (body + "}\n").encode()
    checksum = hashlib.sha256(rest).hexdigest()
    head = f'{{"file":{{"1":{{"format":2,"checksum":"sha256:{checksum}"}}}},\n'
    path.write_bytes(head.encode() + rest)


def as_2(file: CohortFile, change: Callable[[dict[str, Any]], None] = lambda cohort: None) -> None:
    """Make a file as format 2 had it, with what it knows of the cohort changed."""
    tables = inspect(file.path.read_bytes(), file.path).tables
    cohort = tables["cohort"]["1"]
    for name in ("id", "site", "latitude", "longitude"):
        cohort.pop(name, None)
    change(cohort)
    write_as_2(file.path, tables)


@pytest.fixture
def old(tmp_path: Path) -> CohortFile:
    return CohortFile(Path(shutil.copy(SAMPLES / "format-2-room.json", tmp_path / "room.json")))


def test_reading_gives_the_same_identity_each_time_and_leaves_the_file(old: CohortFile) -> None:
    before = old.path.read_bytes()
    assert [old.read().cohort.id for _ in range(2)] == [KNOWN, KNOWN]
    assert Notebook(SAMPLES / "format-1-room.json").log.cohort.id == KNOWN
    assert old.path.read_bytes() == before


def test_the_first_change_writes_it_down_and_sets_the_old_file_aside(old: CohortFile) -> None:
    before = old.path.read_bytes()
    old.describe({"line": "A"})
    assert b'"format":3' in old.path.read_bytes()
    assert f'"id":"{KNOWN}"'.encode() in old.path.read_bytes()
    aside = backups_of(old.path)[-1]
    assert (aside.why, aside.path.read_bytes()) == ("before format 3", before)


def test_whatever_was_done_to_a_copy_its_identity_is_the_same(room: CohortFile) -> None:
    first = room.read().cohort.id
    add(room, seen("3", 2, "L1"))
    room.add_individuals([Individual("B1", moment(0), "egg", note="late")])
    room.strike([1], [], Mark(NOW, "wrong cup"))
    room.withdraw(["2"], Mark(NOW, "no egg"))
    room.describe({"line": "A"}, ("summer",), place="hall", food="leek", planned_celsius=20)
    redact(room.path, Wanted(("note", "food", "factors", "place")), NOW, "KT")
    as_2(room)
    assert room.read().cohort.id == first


def test_copies_that_went_apart_in_format_2_are_merged(room: CohortFile) -> None:
    as_2(room)
    copy = CohortFile(Path(shutil.copy(room.path, room.path.with_name("copy.json"))))
    add(room, seen("1", 2, "L2"))  # one was written to by this version, the other not yet
    add(copy, seen("3", 2, "L1"))
    as_2(copy)
    room.merge(copy.path, NOW)
    assert states(room) == ["1 L1", "2 L1", "1 L2", "3 L1"]


@pytest.mark.parametrize(
    "change",
    [{"name": "hall"}, {"started": "2026-03-08T09:00:00+00:00"},
     {"created": "2026-03-09T09:00:01+00:00"}],
)  # fmt: skip
def test_another_cohort_has_another_identity(room: CohortFile, change: dict[str, str]) -> None:
    as_2(room, lambda cohort: cohort.update(change))
    assert room.read().cohort.id != header().id


def test_a_factor_called_site_becomes_the_site(room: CohortFile) -> None:
    as_2(room, lambda cohort: cohort.update(factors={"Site": "St Mary: hall", "line": "A"}))
    cohort = room.read().cohort
    assert (cohort.site, cohort.factors) == ("St Mary, hall", {"line": "A"})
    as_2(room, lambda cohort: cohort.update(factors={"site": "North"}))
    assert room.read().cohort.factors == {}
    assert room.read().cohort.site == "North"


def test_the_file_says_what_is_wrong_with_an_identity(room: CohortFile) -> None:
    tables = inspect(room.path.read_bytes(), room.path).tables
    for broken, told in (
        ({"id": "room"}, "id is not a UUID in lower case"),
        ({"latitude": 91.0, "longitude": 0.0}, "latitude is not degrees from -90 to 90"),
        ({"latitude": 51.0}, "latitude and longitude go together"),
        ({"site": "a;b"}, "site is not a short text"),
    ):
        cohort = tables["cohort"]["1"]
        from rearlog.store import codec

        with pytest.raises(codec.Misfit, match=told):
            codec.cohort(cohort | broken, 1)
    without = {name: value for name, value in tables["cohort"]["1"].items() if name != "id"}
    with pytest.raises(codec.Misfit, match="id is missing"):
        codec.cohort(without, 1)
