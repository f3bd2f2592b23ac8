"""Looks that contradict one before them; day 0 is 2026-03-09 09:00."""

import pytest
from msgspec.structs import replace

from rearlog.records.doubts import DoubtKind, all_doubts, doubts_with
from rearlog.records.log import CohortLog
from rearlog.species.catalogue import find
from tests.builders import seen, tiny_log

BACK, ENDED = DoubtKind.EARLIER_STAGE, DoubtKind.AFTER_THE_END
LEFT_OUT, NO_TIME = DoubtKind.STAGE_LEFT_OUT, DoubtKind.NO_TIME


def numbered(line: str) -> CohortLog:
    log = tiny_log({"1": line})
    looks = [replace(each, number=place) for place, each in enumerate(log.all_observations, 1)]
    return replace(log, all_observations=tuple(looks))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("egg egg L1 L2 - pupa", []),
        ("egg L1! L2! pupa!", []),  # L3 is optional
        ("egg L1 dead", []),
        ("egg dead dead", [(ENDED, 2, 1)]),
        ("egg L2 L1", [(BACK, 2, 1)]),
        ("egg L2 L1 L1 L2 egg", [(BACK, 2, 1), (BACK, 3, 1), (BACK, 5, 4)]),
        ("L2 L1", [(BACK, 1, None)]),  # as it entered
        ("egg dead L1", [(ENDED, 2, 1)]),
        ("egg L2!", [(LEFT_OUT, 1, None)]),
        ("egg L1 L1 pupa!", [(LEFT_OUT, 3, 2)]),
    ],
)
def test_both_records_are_named(line: str, expected: list[tuple[object, ...]]) -> None:
    found = [(each.kind, each.record, each.against) for each in all_doubts(numbered(line))]
    assert found == expected


def test_only_what_a_new_look_raises_is_told_at_its_entry() -> None:
    log = numbered("egg L2 L1")
    assert doubts_with(log, [seen("1", 3, "L2")]) == []
    (doubt,) = doubts_with(log, [seen("1", 1.5, "pupa")])  # L1 was in doubt already
    assert (doubt.record, doubt.against) == (2, None)


def test_a_jump_that_there_was_no_time_for() -> None:
    log = numbered("egg L1")
    log = replace(log, cohort=replace(log.cohort, species=find("painted-lady")))
    (doubt,) = doubts_with(log, [seen("1", 2, "L5")])
    assert doubt.kind is NO_TIME
    assert doubt.against == 1
    assert "L5 is 1.0 days after L1" in doubt.message
    assert doubts_with(log, [seen("1", 2, "L2")]) == []
