"""Files from a broken disk or a spiteful hand: told, never obeyed, never made worse."""

import contextlib
import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rearlog.records.errors import RearlogError
from rearlog.records.log import DayExtremes, Mark, Readings
from rearlog.species.loader import check
from rearlog.store import codec, reading
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from rearlog.store.reading import gathered
from rearlog.store.restoring import restore, states_of
from rearlog.store.verification import accept, verify
from tests.builders import START, seen
from tests.store.conftest import NOW, add, started

FOLDER_IS_SHARED = [HealthCheck.function_scoped_fixture]


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> CohortFile:
    """A room with a record of every kind."""
    room = started(tmp_path_factory.mktemp("full") / "room.json")
    add(room, seen("1", 1, "L1!"), seen("2", 1, "L1"), seen("3", 1, "dead:mould"))
    room.add_temperatures(
        [DayExtremes(START.date(), 18.0, 24.0), Readings(START, (0, 600), (20.0, 20.5))], NOW
    )
    room.strike([2], [], Mark(NOW, "wrong cup"))
    return room


def everything(path: Path) -> None:
    """Do with a file whatever can be done; only errors that the user can mend may come."""
    file = CohortFile(path)
    before = path.read_bytes()
    verify(path, NOW, check)
    with contextlib.suppress(RearlogError):
        file.read()
    with contextlib.suppress(RearlogError):
        file.outline(["1"])
    states_of(path)
    actions = (
        lambda: add(file, seen("1", 30, "adult")),
        lambda: file.strike([1], [1], Mark(NOW, "why")),
        lambda: file.add_temperatures([DayExtremes(START.date(), 1.0, 2.0)], NOW),
        lambda: accept(path, NOW, check),
        lambda: restore(path, 1),
    )
    for action in actions:
        before = path.read_bytes()
        try:
            action()
        except RearlogError:
            assert path.read_bytes() == before
        else:
            decode(path.read_bytes(), path)


@contextlib.contextmanager
def instead(room: CohortFile, content: bytes) -> Iterator[Path]:
    """The room's file with another content, for a moment."""
    whole = room.path.read_bytes()
    try:
        room.path.write_bytes(content)
        yield room.path
    finally:
        room.path.unlink()
        room.path.write_bytes(whole)
        for aside in (room.path.parent / ".rearlog").glob("*.before-*"):
            aside.unlink()


@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=60)
@given(st.data())
def test_a_file_with_flipped_bits_is_noticed(full: CohortFile, data: st.DataObject) -> None:
    content = bytearray(full.path.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    if content == full.path.read_bytes():
        return
    with instead(full, bytes(content)) as path:
        assert not verify(path, NOW, check).sound or same_tables(bytes(content), full)
        everything(path)


def same_tables(content: bytes, full: CohortFile) -> bool:
    """A flipped bit in white space or a letter's case of the header may leave the same content."""
    return bool(json.loads(content)["observations"])


@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=40)
@given(st.data())
def test_a_file_cut_or_with_something_in_it_is_noticed(
    full: CohortFile, data: st.DataObject
) -> None:
    whole = full.path.read_bytes()
    begin = data.draw(st.integers(0, len(whole) - 2))
    end = data.draw(st.integers(begin, len(whole) - 2))
    content = whole[:begin] + data.draw(st.binary(max_size=20)) + whole[end:]
    if content == whole:
        return
    with instead(full, content) as path:
        everything(path)


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**63), 2**64 - 1) | st.text(max_size=20)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from(
        ["\x1b[2J\x1b]0;owned\x07", "../../etc/passwd", "L9", "dead", "2026-03-09", "", "\0",
         "9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00+00:00", "2026-03-10T09:00:00",
         "2026-03-10T09:00:00+00:00", "2026-03-12T09:00:00-12:00", "Europe/London", 1e308, -0.0],
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner,
                                                                max_size=3),
    max_leaves=5,
)  # fmt: skip


def nodes(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path to every place in a document but the top."""
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield (*path, key)
            yield from nodes(inner, (*path, key))


def spoilt(tables: dict[str, Any], data: st.DataObject) -> dict[str, Any]:
    """The tables with one to three places replaced, removed, renamed or doubled."""
    tables = copy.deepcopy(tables)
    for _ in range(data.draw(st.integers(1, 3))):
        places = list(nodes(tables))
        if not places:
            break
        # most places are in the profile: choose the table first
        table = data.draw(st.sampled_from(sorted({place[0] for place in places})))
        place = data.draw(st.sampled_from([each for each in places if each[0] == table]))
        inner: Any = tables
        for step in place[:-1]:
            inner = inner[step]
        deed = data.draw(st.sampled_from(["replace", "remove", "rename", "double"]))
        if deed == "replace" and len(place) > 1:
            inner[place[-1]] = data.draw(JUNK)
        elif deed == "remove":
            del inner[place[-1]]
        elif isinstance(inner, dict) and len(place) > 1:
            key = data.draw(st.text(max_size=6) | st.sampled_from(["01", "-1", "1e3", "٣", "7"]))
            inner[key] = inner[place[-1]] if deed == "double" else inner.pop(place[-1])
    return tables


def assert_a_forged_file_upsets_nothing(full: CohortFile, data: st.DataObject) -> None:
    tables = decode(full.path.read_bytes(), full.path).tables
    with instead(full, encode(spoilt(tables, data) or {"cohort": {}})) as path:
        everything(path)


@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=60)
@given(st.data())
def test_a_forged_file_whose_checksum_fits_upsets_nothing(
    full: CohortFile, data: st.DataObject
) -> None:
    assert_a_forged_file_upsets_nothing(full, data)


@pytest.mark.slow
@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=1000)
@given(st.data())
def test_thousands_of_forged_files_upset_nothing(full: CohortFile, data: st.DataObject) -> None:
    assert_a_forged_file_upsets_nothing(full, data)


@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=100)
@given(st.data())
def test_a_file_read_at_one_go_is_that_read_record_by_record(
    full: CohortFile, data: st.DataObject
) -> None:
    tables = decode(full.path.read_bytes(), full.path).tables
    tables |= {
        "observations": spoilt({"observations": tables["observations"]}, data).get(
            "observations", {}
        )
    }
    log, problems = gathered(tables, full.path)
    try:
        quick = reading._read(encode(tables), None, True)
    except codec.Misfit:
        assert problems
    else:
        assert (quick, []) == (log, problems)


@settings(suppress_health_check=FOLDER_IS_SHARED, max_examples=60)
@given(content=st.binary(max_size=200) | JUNK.map(lambda junk: json.dumps(junk).encode()))
def test_any_other_file_is_told(full: CohortFile, content: bytes) -> None:
    with instead(full, content) as path:
        everything(path)
