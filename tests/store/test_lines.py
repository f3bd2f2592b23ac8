"""A few observations of a file, read and added without parsing the others: the same as with."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.records.log import DayExtremes, Individual, Mark, Observation
from rearlog.store.codec import to_document
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from rearlog.store.lines import appended, selected
from rearlog.store.reading import log_in
from tests.builders import START, moment, seen
from tests.store.conftest import NOW, add, started, states

PATH = Path("room.json")
# texts that look like the layout itself
NOTES = st.none() | st.text(st.characters(codec="utf-8"), max_size=12) | st.lists(
    st.sampled_from(['"fate":', '"individual":"1"', "}}\n", "},\n", '"', "\\", "\n", "}", "é"]),
    max_size=6,
).map("".join)  # fmt: skip
CODES = ("1", "2", "12", "é1", "Éa")
CHECKS = st.lists(
    st.builds(
        lambda code, day, fate, note, struck: replace(
            seen(code, day, "L1"), fate=fate, note=note,
            marks=(Mark(NOW, note),) if struck and note else (),
        ),
        st.sampled_from(CODES), st.integers(1, 30), st.sampled_from([None, None, "dead"]),
        NOTES, st.booleans(),
    ),
    max_size=12,
)  # fmt: skip


@pytest.fixture(scope="module")
def header(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The tables of a cohort with individuals and a temperature, and no checks."""
    path = tmp_path_factory.mktemp("header") / "room.json"
    file = started(path, 0)
    file.add_individuals([Individual(code, START, "egg") for code in CODES])
    file.add_temperatures([DayExtremes(START.date(), 18.0, 24.0)], NOW)
    return decode(path.read_bytes(), path).tables


def file_with(header: dict[str, Any], checks: list[Observation]) -> bytes:
    documents = {str(number): to_document(each) for number, each in enumerate(checks, start=1)}
    return encode(header | {"observations": documents})


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(checks=CHECKS, codes=st.sets(st.sampled_from(CODES).map(str.casefold), max_size=3))
def test_some_are_read_as_they_are_from_the_whole(
    header: dict[str, Any], checks: list[Observation], codes: set[str]
) -> None:
    content = file_with(header, checks)
    some = selected(content, codes)
    assert some is not None
    whole = decode(content, PATH).tables
    few = log_in(some, PATH, codes, temperatures=False)
    every = log_in(whole, PATH, codes, temperatures=False)
    assert few.individuals == every.individuals
    assert tuple(few.all_observations) == tuple(every.all_observations)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(before=CHECKS.filter(bool), new=CHECKS.filter(bool))
def test_some_are_added_as_to_the_whole(
    header: dict[str, Any], before: list[Observation], new: list[Observation]
) -> None:
    found = appended(file_with(header, before), [to_document(each) for each in new])
    assert found is not None
    content, numbers = found
    assert content == file_with(header, [*before, *new])
    assert numbers == list(range(len(before) + 1, len(before) + len(new) + 1))


def test_the_file_has_a_line_for_each_record(room: CohortFile) -> None:
    lines = room.path.read_text().splitlines()
    assert [line[:14] for line in lines[1:]] == [
        '"cohort":{', '"1":{"name":"r', '"individuals":', '"1":{"code":"1', '"2":{"code":"2',
        '"3":{"code":"3', '"observations"', '"1":{"individu', '"2":{"individu',
    ]  # fmt: skip
    assert json.loads(lines[5].rstrip(",").join("{}")) == {
        "2": {"code": "2", "entered_at": "2026-03-09T09:00:00+00:00", "stage": "egg"}
    }


def by_hand(room: CohortFile, change: Any) -> None:
    tables = copy.deepcopy(decode(room.path.read_bytes(), room.path).tables)
    tables["observations"] = change(tables["observations"])
    room.path.write_bytes(encode(tables))


@pytest.mark.parametrize(
    "change",
    [
        lambda table: {"9": table["1"], "2": table["2"]},
        lambda table: {"3": table["1"], "2": table["2"]},  # 3 would be the next of two
        lambda table: {"1": table["1"], "7": table["2"]},
        lambda table: {},
    ],
)
def test_numbers_laid_out_by_hand_are_not_given_again(room: CohortFile, change: Any) -> None:
    by_hand(room, change)
    taken = {each.number for each in room.read().all_observations}
    (new,) = add(room, seen("3", 2, "L1"))
    assert new.number not in taken
    assert len(room.read().all_observations) == len(taken) + 1


@pytest.mark.parametrize(
    "change",
    [
        lambda table: {**table, "3": 5},
        lambda table: {**table, "x": table["1"]},
        lambda table: {**table, "3": {"individual": ["1"], "at": "2026-03-20T09:00:00+00:00"}},
    ],
)
def test_one_broken_record_does_not_hide_the_others(room: CohortFile, change: Any) -> None:
    by_hand(room, change)
    some = selected(room.path.read_bytes(), {"1"})
    assert some is not None
    assert "1" in some["observations"]


def test_another_layout_is_left_to_the_parser(room: CohortFile) -> None:
    tables = json.loads(room.path.read_bytes())
    for again in (json.dumps(tables), json.dumps(tables, indent=1)):
        assert selected(again.encode(), {"1"}) is None
        assert appended(again.encode(), [to_document(seen("1", 5, "L2"))]) is None
        room.path.write_text(again)
        assert states(room) == ["1 L1", "2 L1"]
    add(room, seen("1", 5, "L2"))
    assert selected(room.path.read_bytes(), {"1"}) is not None  # it is written in our layout again


def test_many_codes_are_left_to_the_parser(room: CohortFile) -> None:
    assert selected(room.path.read_bytes(), {str(code) for code in range(50)}) is None


def test_rounds_in_one_hold_see_each_other(room: CohortFile) -> None:
    with room.held():
        add(room, seen("1", 2, "L2"))
        assert [each.stage for each in room.outline(["1"]).all_observations] == ["L1", "L2"]
        room.strike([3], [], Mark(moment(3), "wrong cup"))
        add(room, seen("1", 2, "L1"))
    assert states(room) == ["1 L1", "2 L1", "1 L1"]
