"""A whole file read at one go: what is taken, and what is left to be told record by record."""

from pathlib import Path
from typing import Any

import pytest

from rearlog.records.columns import columns_of
from rearlog.records.errors import StoreError
from rearlog.records.log import CohortLog, Individual
from rearlog.store import codec, reading
from rearlog.store.layout import encode
from rearlog.store.reading import log_in
from tests.builders import START
from tests.store.conftest import header

AT = "2026-03-09T09:00:00+00:00"
MARK = {"at": AT, "because": "the wrong cup"}


def table(*documents: dict[str, Any]) -> dict[str, Any]:
    """A table of checks of number 7; each document is put over a sound one."""
    sound = {"individual": "7", "at": AT, "stage": "egg"}
    return {str(number): sound | each for number, each in enumerate(documents, start=1)}


def file_with(observations: dict[str, Any]) -> dict[str, Any]:
    return {
        "cohort": {"1": codec.to_document(header())},
        "individuals": {"1": codec.to_document(Individual("7", START, "egg"))},
        "observations": observations,
    }


def at_one_go(observations: dict[str, Any]) -> CohortLog | None:
    """The log, from bytes and from tables alike; None where it is not taken at one go."""
    tables = file_with(observations)
    logs: list[CohortLog | None] = []
    for file in (encode(tables), tables):
        try:
            logs.append(reading._read(file, None, True))
        except codec.Misfit:
            logs.append(None)
    assert logs[0] == logs[1]
    return logs[0]


def test_records_are_those_read_one_by_one() -> None:
    documents = table(
        {"length_mm": 2, "note": "pale", "witnessed": True},
        {"length_mm": 2.5, "by": "KT", "entered": AT, "marks": [MARK]},
        {"stage": "L1", "fate": "dead", "cause": "mould", "sex": "f"},
    )
    log = at_one_go(documents)
    assert log is not None
    assert list(log.all_observations) == [
        codec.observation(each, int(n)) for n, each in documents.items()
    ]


def test_columns_leave_out_what_is_struck_and_have_every_field() -> None:
    log = at_one_go(table({}, {"stage": "L2", "marks": [MARK]}, {"witnessed": True, "sex": "m"}))
    assert log is not None
    for columns in (columns_of(log), columns_of(log.with_checks([]))):  # of documents, of records
        assert list(columns["individual"]) == ["7", "7"]
        assert list(columns["stage"]) == ["egg", "egg"]
        assert list(columns["fate"]) == [None, None]
        assert list(columns["witnessed"]) == [False, True]
        assert list(columns["sex"]) == [None, "m"]
        assert list(columns.seconds) == [START.timestamp()] * 2
        assert list(columns.places) == [0, 2]
        with pytest.raises(KeyError):
            columns["number"]


@pytest.mark.parametrize(
    "spoilt",
    [
        [{"individual": "8"}],
        [{"individual": None}],
        [{"individual": ["7"]}],
        [{"individual": "8", "marks": [MARK]}],
        [{"at": None}],
        [{"at": "2026-03-09T09:00:00"}],  # without its offset
        [{"at": "1899-03-09T09:00:00+00:00"}],
        [{"entered": 5}],
        [{"entered": "2200-03-09T09:00:00+00:00"}],
        [{"stage": 3}],
        [{"colour": "green"}],
        [{"length_mm": "2"}],
        [{"length_mm": True}],
        [{"length_mm": 1.0}, {"length_mm": True}],  # which Python takes to be equal
        [{"witnessed": True}, {"witnessed": 1}],
        [{"marks": [{"at": AT}]}],
        [{"marks": [{"at": "2026-03-09T09:00:00", "because": "no offset"}]}],
    ],
)
def test_what_is_not_sound_is_told_record_by_record(spoilt: list[dict[str, Any]]) -> None:
    for documents in (table(*spoilt), table({}, *spoilt)):
        assert at_one_go(documents) is None
        with pytest.raises(StoreError, match=f"record {len(documents)}"):
            log_in(file_with(documents), Path("room.json"))


@pytest.mark.parametrize("number", ["", "0", "01", "x", "٣", "1" * 13])
def test_numbers_that_this_program_does_not_write_are_not_taken(number: str) -> None:
    documents = {number: table({})["1"]}
    assert at_one_go(documents) is None
    with pytest.raises(StoreError, match="this is not a record number"):
        log_in(file_with(documents), Path("room.json"))


@pytest.mark.parametrize("field", ["individual", "at"])
def test_a_check_without_a_field_that_all_need_is_not_taken(field: str) -> None:
    documents = table({}, {})
    del documents["2"][field]
    assert at_one_go(documents) is None


def test_a_log_without_checks_has_none() -> None:
    log = at_one_go({})
    assert log is not None
    assert len(log.all_observations) == len(list(columns_of(log)["stage"])) == 0
