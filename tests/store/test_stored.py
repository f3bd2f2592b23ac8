from typing import Any

import pytest

from rearlog.store import codec
from rearlog.store.stored import stored

AT = "2026-03-09T09:00:00+00:00"
MARK = {"at": AT, "because": "the wrong cup"}


def table(*documents: dict[str, Any]) -> dict[str, Any]:
    """A table of checks of number 7; each document is put over a sound one."""
    sound = {"individual": "7", "at": AT, "stage": "egg"}
    return {str(number): sound | each for number, each in enumerate(documents, start=1)}


def test_records_are_those_read_one_by_one() -> None:
    documents = table(
        {"length_mm": 2, "note": "pale", "witnessed": True},
        {"length_mm": 2.5, "by": "KT", "entered": AT, "marks": [MARK]},
        {"stage": "L1", "fate": "dead", "cause": "mould", "sex": "f"},
    )
    found = stored(documents, ["7"])
    assert found is not None
    assert list(found) == [codec.observation(each, int(n)) for n, each in documents.items()]


def test_columns_leave_out_what_is_struck() -> None:
    found = stored(table({}, {"stage": "L2", "marks": [MARK]}, {"witnessed": True}), ["7"])
    assert found is not None
    looks = found.looks
    assert list(looks.individual) == ["7", "7"]
    assert list(looks.stage) == ["egg", "egg"]
    assert list(looks.fate) == [None, None]
    assert list(looks.witnessed) == [False, True]


@pytest.mark.parametrize(
    "spoilt",
    [
        [{"individual": "8"}],
        [{"individual": None}],
        [{"individual": ["7"]}],
        [{"at": None}],
        [{"at": "2026-03-09T09:00:00"}],  # without its offset
        [{"entered": 5}],
        [{"stage": None}],
        [{"stage": 3}],
        [{"colour": "green"}],
        [{"length_mm": "2"}],
        [{"length_mm": True}],
        [{"length_mm": 1.0}, {"length_mm": True}],  # which Python takes to be equal
        [{"witnessed": True}, {"witnessed": 1}],
        [{"marks": [{"at": AT}]}],
    ],
)
def test_what_is_not_sound_is_not_taken(spoilt: list[dict[str, Any]]) -> None:
    assert stored(table(*spoilt), ["7"]) is None
    assert stored(table({}, *spoilt), ["7"]) is None


@pytest.mark.parametrize("number", ["", "0", "01", "x", "٣", "1" * 13])
def test_numbers_that_this_program_does_not_write_are_not_taken(number: str) -> None:
    assert stored({number: table({})["1"]}, ["7"]) is None


@pytest.mark.parametrize("field", ["individual", "at"])
def test_a_check_without_a_field_that_all_need_is_not_taken(field: str) -> None:
    documents = table({}, {})
    del documents["2"][field]
    assert stored(documents, ["7"]) is None


def test_a_log_without_checks_has_none() -> None:
    found = stored({}, ["7"])
    assert found is not None
    assert len(found) == len(list(found.looks.stage)) == 0
